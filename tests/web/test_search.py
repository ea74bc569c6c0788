"""Search: by part of a name, phone, number and group, and only what the role may see."""

from datetime import UTC, date, datetime

from app.records.tables.cylinders import CylinderRow
from app.records.tables.kit import KitItemRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.rules.folding import fold
from tests.groups_world import book, group_of
from tests.web_world import World

NOON = datetime(2026, 7, 14, 11, 0, tzinfo=UTC)


def fill(world: World) -> None:
    """José and Øyvind today in one group each, Josefa yesterday, a cylinder and a suit."""
    book(world, "José")
    book(world, "Øyvind")
    group_of(world, [1], guide="Ines Instructor", name="A")
    group_of(world, [2], guide="Ivo Instructor", name="B")
    with world.act() as act:
        act.add(SlotRow(day=date(2026, 7, 14), clock="12:00", starts_at=NOON, site_id=1, places=4))
        act.add(
            PartyRow(
                ref="old", slot_id=4, contact_name="Josefa Stone", phone="+44 (0)555 0177", booked_at=NOON
            )
        )
        act.add(
            GuestRow(
                ref="old-guest",
                party_id=3,
                full_name="Josefa Stone",
                call_name="Josefa",
                birth_date=date(1990, 1, 1),
                height_cm=170,
                mass_kg=60,
                shoe_size=38,
            )
        )
        act.add(CylinderRow(number="S07", litres=12, working_pressure_bar=232))
        act.add(KitItemRow(kind="suit", number="W07", size="M"))


def test_letters_are_compared_without_accents_and_case() -> None:
    assert fold(" JOSÉ  ñandú ") == "jose nandu"
    assert fold("Øyvind Þór Łukasz Æsa Weiß") == "oyvind thor lukasz aesa weiss"


def test_the_desk_finds_everything(world: World) -> None:
    fill(world)
    desk = world.browser("Dora Desk")
    assert "Part of a name is enough." in desk.open("/search").words()
    page = desk.open("/search?q=JOSE")
    assert "José Vale" in page.words() and "Josefa Stone" in page.words()
    assert page.words().index("José Vale") < page.words().index("Josefa Stone"), "the newest day stands first"
    assert "Øyvind Vale" in desk.open("/search?q=oyv").words()
    assert "Josefa Stone" in desk.open("/search?q=555-0177").words()
    assert "Nothing found" in desk.open("/search?q=17").words(), "two digits are too few for a phone"
    things = desk.open("/search?q=07")
    assert "Cylinder S07" in things.words() and "Suit W07" in things.words()
    group = desk.open("/search?q=group+b")
    assert "Group B" in group.words() and "Group A" not in group.words()
    nothing = desk.open("/search?q=%3Cb%3Enobody")
    assert "Nothing found" in nothing.words() and "<b>nobody" not in nothing.text
    assert desk.open("/search?q=%25").status == 200


def test_others_find_what_their_role_may_see(world: World) -> None:
    fill(world)

    def finds(name: str, asked: str) -> str:
        page = world.browser(name).open(f"/search?q={asked}")
        assert page.status == 200
        return page.words()

    assert "José Vale" in finds("Ines Instructor", "jos") and "Josefa" not in finds("Ines Instructor", "jos")
    assert "Øyvind" not in finds("Ines Instructor", "vale")
    assert "Øyvind Vale" in finds("Lena Lead", "vale") and "Josefa" not in finds("Lena Lead", "jos")
    assert "Josefa Stone" in finds("Mona Manager", "0177")
    for name in ("Ines Instructor", "Lena Lead", "Kim Keeper"):
        assert "Josefa" not in finds(name, "5550177")
    keeper = world.browser("Kim Keeper").open("/search?q=josefa")
    assert "/guests/3/health" in keeper.text and "/parties/" not in keeper.text
    assert "0177" not in keeper.text and "S07" not in finds("Kim Keeper", "S07")
    assert "Cylinder S07" in finds("Ines Instructor", "s07")
