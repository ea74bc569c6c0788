"""Search: by part of a name, phone, number and group, and only what the role may see."""

from datetime import UTC, date, datetime

from sqlalchemy import delete
from sqlmodel import select

from app.records.keep.search_entries import fill_missing
from app.records.tables.cylinders import CylinderRow
from app.records.tables.days import IncidentRow
from app.records.tables.kit import KitItemRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.tables.returning import SearchEntryRow
from tests.groups_world import book, group_of
from tests.web_ready import Ready
from tests.web_world import DAY, World

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


def test_days_dives_and_incidents_are_found_by_who_may_read_them(ready: Ready) -> None:
    world = ready.world
    ready.whole_dive()
    with world.act() as act:
        for what, group, writer in (("A fin strap broke at the ladder", 1, 1), ("Rope frayed", None, 2)):
            act.add(
                IncidentRow(
                    day=DAY,
                    happened_at=NOON,
                    severity="minor",
                    category="equipment",
                    what=what,
                    group_id=group,
                    written_at=NOON,
                    written_by_id=writer,
                    written_by="a test",
                )
            )
    manager = world.browser("Mona Manager")
    for asked in ("15 Jul", "2026-07-15", "15.7.", "ann 15 jul 2026"):
        page = manager.open(f"/search?q={asked.replace(' ', '+')}")
        assert "Ann Vale" in page.words() and "On Wed 15 Jul 2026." in page.words(), asked
    assert "Nothing found" in manager.open("/search?q=ann+14+jul").words()
    day = manager.open("/search?q=15+jul").words()
    assert "Dive of group A" in day and "fin strap" in day
    for asked in ("dive a", "jetty", "ines", "group a"):
        assert "Dive of group A" in manager.open(f"/search?q={asked.replace(' ', '+')}").words(), asked
    assert any(
        e.get("href") == "/days/2026-07-15/sheet#group-1" for e in manager.open("/search?q=jetty").find("a")
    )
    for name, sees in (
        ("Mona Manager", {"strap", "frayed"}),
        ("Lena Lead", {"strap", "frayed"}),
        ("Ines Instructor", {"strap", "frayed"}),
        ("Ivo Instructor", set()),
        ("Kim Keeper", set()),
    ):
        browser = world.browser(name)
        shown = {
            word for word in ("strap", "frayed") if "Nothing" not in browser.open(f"/search?q={word}").words()
        }
        assert shown == sees, name


def test_names_are_kept_up_and_an_erased_guest_is_gone(world: World) -> None:
    book(world, "Anne-Marie")
    desk = world.browser("Dora Desk")
    for asked in ("annemarie", "marie anne", "VALE marie", "anne-marie vale"):
        assert "Anne-Marie Vale" in desk.open(f"/search?q={asked.replace(' ', '+')}").words(), asked
    with world.act() as act:
        act.edit(act.get(GuestRow, 1), None, {"full_name": "Đorđe Ĺuk", "call_name": "Đole"}, {})
    assert "Đorđe Ĺuk" in desk.open("/search?q=luk+dorde").words()
    assert "Guests" not in desk.open("/search?q=annemarie").words()
    with world.act() as act:
        act.edit(act.get(GuestRow, 1), None, {"full_name": "", "call_name": ""}, {})
        act.edit(act.get(PartyRow, 1), None, {"contact_name": "", "phone": ""}, {})
    assert "Nothing found" in desk.open("/search?q=luk").words()
    with world.house.store.reading() as session:
        assert session.exec(select(SearchEntryRow)).all() == []


def test_a_shop_from_before_gets_its_entries_when_it_is_opened(world: World) -> None:
    book(world, "José", "Øyvind")
    with world.house.store.engine.begin() as connection:
        connection.execute(delete(SearchEntryRow))
    assert "Nothing found" in world.browser("Dora Desk").open("/search?q=jose").words()
    with world.house.store.writing() as session:
        fill_missing(session)
        fill_missing(session)
    assert "José Vale" in world.browser("Dora Desk").open("/search?q=jose").words()
    with world.house.store.reading() as session:
        assert len(session.exec(select(SearchEntryRow)).all()) == 3
