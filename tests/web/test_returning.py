"""Guests who were here before: found and linked by the desk, told apart, and nothing of health carried."""

from datetime import UTC, date, datetime

from sqlmodel import col, select

from app.records.tables.kit import KitItemRow, WeightsRow
from app.records.tables.kit_keeping import KitFitRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow, name_once_erased
from app.records.tables.returning import GuestLinkRow
from app.records.welcome.returning import find_earlier, worked_before
from app.records.welcome.same_person import everybody_linked, same_person
from tests.booking_world import booked, guest_form
from tests.health_world import screened
from tests.web_world import DAY, Browser, World

JUNE = date(2026, 6, 12)
JUNE_SLOT = 4


def earlier_visit(world: World, name: str, born: int = 1991, phone: str = "555 0177", **other: float) -> int:
    """Book somebody on 12 Jun 2026, written directly; return the guest's number."""
    sizes = {"height_cm": 171.0, "mass_kg": 66.0, "shoe_size": 39.0, **other}
    at = datetime(2026, 6, 12, 9, 0, tzinfo=UTC)
    with world.act() as act:
        if act.session.get(SlotRow, JUNE_SLOT) is None:
            act.add(SlotRow(id=JUNE_SLOT, day=JUNE, clock="10:00", starts_at=at, site_id=1, places=12))
        party = act.add(
            PartyRow(
                ref=f"p-{name}-{born}", slot_id=JUNE_SLOT, contact_name=name, phone=phone, booked_at=at,
                emergency_name="Corin", emergency_phone="555 0001",
            )
        )  # fmt: skip
        row = act.add(
            GuestRow(
                ref=f"g-{name}-{born}",
                party_id=party.id or 0,
                full_name=name,
                call_name=name.split(maxsplit=1)[0],
                birth_date=date(born, 4, 3),
                languages="en de",
                flight_told="none",
                **sizes,
            )
        )
        return row.id or 0


def links(world: World) -> list[tuple[int, int, str]]:
    with world.house.store.reading() as session:
        rows = session.exec(select(GuestLinkRow).order_by(col(GuestLinkRow.id))).all()
        return [(row.guest_id, row.earlier_id, row.said) for row in rows]


def guest(world: World, number: int) -> GuestRow:
    with world.house.store.reading() as session:
        row = session.get(GuestRow, number)
        assert row is not None
        return row


def found(desk: Browser, guest_id: int, asked: str = "") -> list[str]:
    page = desk.open(f"/guests/{guest_id}/earlier" + (f"?q={asked}" if asked else ""))
    assert page.status == 200
    return [e.get("data-earlier", "") for e in page.root.iter() if e.get("data-earlier")]


def test_linked_by_the_desk_and_sizes_used_with_one_tap_and_undone(world: World) -> None:
    old = earlier_visit(world, "Zoë O'Brien-Lund")
    page = booked(world, names=("Brien Zoe",))
    desk, new = page.browser, 2
    assert "Perhaps here before" not in page.words(), "another name is no hint"
    for asked in ("", "zoe+brien", "LUND", "obrien", "0177", "12+Jun+2026", "lund+12+Jun", "3+Apr+1991"):
        assert found(desk, new, asked) == [str(old)], asked
    assert found(desk, new, "17") == [] == found(desk, new, "zebra") == found(desk, new, "13+Jun+2026")
    assert found(desk, new, "zebra+3+Apr+1991") == [] == found(desk, new, "4+Apr+1991")
    shown = desk.open("/guests/2/earlier")
    assert "born 1991" in shown.words() and "Fri 12 Jun 2026" in shown.words()
    assert "555" not in shown.words() and "Corin" not in shown.words(), "no more than tells people apart"
    linked = shown.send("link_guest", at="/guests/2/earlier/1/same")
    assert "Linked to the earlier visit." in linked.words() and links(world) == [(new, old, "same")]
    assert "Sizes of Fri 12 Jun 2026: 171 cm, 66 kg, shoes 39" in linked.words()
    assert "Here before: Fri 12 Jun 2026" in desk.open("/parties/2").words()
    used = linked.send("use_sizes")
    assert (guest(world, new).height_cm, guest(world, new).mass_kg, guest(world, new).shoe_size) == (
        171,
        66,
        39,
    )
    assert "The same as written now" in used.words()
    with world.act() as act:
        act.edit(act.get(GuestRow, new), None, {"height_cm": 172.0}, {})
    to, pairs = linked.form_fields("use_sizes")
    stale = desk.post(to, _fresh(pairs, "s"))
    assert stale.status == 409 and "172" in stale.words() and guest(world, new).height_cm == 172
    undone = used.send("unlink_guest")
    assert "Undone" in undone.words() and links(world)[-1] == (new, old, "not the same")
    assert "Sizes of" not in undone.words() and found(desk, new) == [str(old)]
    assert guest(world, new).mass_kg == 66, "what was written down stays and can be changed"


def test_two_of_one_name_are_told_apart_and_only_the_likely_one_is_hinted_at(world: World) -> None:
    older = earlier_visit(world, "Pella Windrow", born=1960)
    same = earlier_visit(world, "Pella  WINDROW", born=1991)
    page = booked(world)
    assert "Perhaps here before" in page.words()
    shown = page.browser.open("/guests/3/earlier")
    assert sorted(found(page.browser, 3)) == sorted([str(older), str(same)])
    assert "born 1960" in shown.words() and shown.words().count("same year of birth") == 1
    linked = shown.send("link_guest", at=f"/guests/3/earlier/{same}/same")
    assert found(page.browser, 3) == [str(older)]
    assert "Perhaps here before" not in linked.browser.open("/parties/3").words()
    again = linked.browser.post(*shown.form_fields("link_guest", f"/guests/3/earlier/{same}/same"))
    assert again.status == 200 and len(links(world)) == 1, "the same form twice links once"


def test_booking_begins_with_who_was_here_and_asks_health_afresh(world: World) -> None:
    old = earlier_visit(world, "Pella Windrow")
    child = earlier_visit(world, "Wren Windrow", born=2013)
    desk = world.browser("Dora Desk")
    page = desk.open("/welcome/returning?slot=1&q=windrow")
    assert {e.get("value") for e in page.find("input", name="earlier")} == {str(old), str(child)}
    form = desk.open(f"/welcome/book?slot=1&earlier={old}&earlier={child}")
    typed = dict(form.form_fields("review_party")[1])
    assert typed["g1_full_name"] == "Pella Windrow" and typed["g1_height_cm"] == "171"
    assert typed["g1_earlier"] == str(old) and typed["phone"] == "555 0177"
    assert (typed["g2_full_name"], typed["g2_height_cm"], typed["g2_birth_year"]) == (
        "Wren Windrow",
        "",
        "2013",
    )
    assert "Children grow" in form.words() and "Health is asked afresh" in form.words()
    sizes = {"g2_height_cm": "150", "g2_mass_kg": "40", "g2_shoe_size": "36"}
    flights = {"g1_flight": "none", "g2_flight": "none"}
    review = form.send("review_party", walk_in="yes", **sizes, **flights)
    assert "here before" in review.words(), review.words()
    party = review.send("book_party")
    assert links(world) == [(3, old, "same"), (4, child, "same")]
    assert guest(world, 3).ref != guest(world, old).ref
    assert party.people()["guest-3"] == "not-asked"
    # A tick taken out links nobody.
    other = desk.open(f"/welcome/book?slot=2&earlier={old}")
    other.send("review_party", walk_in="yes", g1_flight="none", g1_earlier=None).send("book_party")
    assert len(links(world)) == 2


def test_a_signed_history_stays_with_the_booking_it_was_signed_in(world: World) -> None:
    page = booked(world)
    screened(world, 1)
    assert page.browser.open("/parties/1").people()["guest-1"] == "cleared"
    again = page.browser.open("/welcome/book?slot=2&earlier=1")
    party = again.send("review_party", walk_in="yes", g1_flight="none").send("book_party")
    assert links(world) == [(2, 1, "same")], party.words()
    assert party.people()["guest-2"] == "not-asked"


def test_a_guest_is_added_to_a_party_from_an_earlier_visit(world: World) -> None:
    old = earlier_visit(world, "Marta Sølund")
    page = booked(world)
    find = page.browser.open("/welcome/returning?slot=1&party=2&q=solund")
    assert any(e.get("href") == f"/parties/2/guests/new?earlier={old}" for e in find.find("a"))
    form = page.browser.open(f"/parties/2/guests/new?earlier={old}")
    added = form.send("add_guest", flight="none")
    assert "Marta Sølund" in added.words() and links(world) == [(3, old, "same")]
    wrong = page.browser.open("/parties/2/guests/new").send(
        "add_guest", **guest_form("Bo Dray"), earlier="99"
    )
    assert wrong.status == 404 and len(links(world)) == 1


def test_only_the_desk_only_earlier_visits_and_nobody_erased(world: World) -> None:
    old = earlier_visit(world, "Pella Windrow")
    page = booked(world)
    for name in ("Lena Lead", "Ines Instructor", "Mona Manager", "Kim Keeper"):
        browser = world.browser(name)
        assert browser.open("/guests/2/earlier").status == 404
        assert browser.open("/welcome/returning?slot=1&q=pella").status == 404
    desk = page.browser
    later = desk.open("/guests/2/earlier")
    assert desk.open("/guests/99/earlier").status == 404
    to, pairs = later.form_fields("link_guest", f"/guests/2/earlier/{old}/same")
    assert desk.post("/guests/2/earlier/99/same", _fresh(pairs, "a")).status == 404
    assert desk.post("/guests/2/earlier/2/same", _fresh(pairs, "b")).status == 422
    assert desk.post(f"/guests/{old}/earlier/2/same", _fresh(pairs, "c")).status == 422, (
        "a later visit is not earlier"
    )
    assert desk.post(f"/guests/2/earlier/{old}/undo", _fresh(pairs, "d")).status == 404
    assert links(world) == []
    with world.act() as act:
        act.edit(
            act.get(GuestRow, old),
            None,
            {"full_name": name_once_erased("g-Pella Windrow-1991"), "call_name": ""},
            {},
        )
    assert found(desk, 2) == [] and found(desk, 2, "12+Jun+2026") == []
    assert desk.post(to, _fresh(pairs, "e")).status == 404


def _fresh(pairs: list[tuple[str, str]], sign: str) -> list[tuple[str, str]]:
    return [(name, value[:-1] + sign if name == "key" else value) for name, value in pairs]


def test_what_worked_is_read_over_every_visit_of_the_person(world: World) -> None:
    first, second = earlier_visit(world, "Marta Vale"), earlier_visit(world, "M. Vale", born=1992)
    booked(world, names=("Marta Dray",))
    at = datetime(2026, 6, 12, 12, 0, tzinfo=UTC)
    with world.act() as act:
        act.add(KitItemRow(kind="suit", number="W7", size="M"))
        act.add(KitFitRow(guest_id=first, item_id=1, kind="suit", size="M", said="fits", at=at, by="a test"))
        act.add(
            WeightsRow(
                guest_id=first, slot_id=JUNE_SLOT, suggested_kg=5, method="", given_kg=5, given_by="a test",
                at=at, float_check="level", checked_at=at, plain_kg=5,
            )
        )  # fmt: skip
        act.add(GuestLinkRow(guest_id=second, earlier_id=first, said="same", at=at, by="a test"))
        act.add(GuestLinkRow(guest_id=3, earlier_id=second, said="same", at=at, by="a test"))
    with world.house.store.reading() as session:
        assert same_person(session, [3, 1]) == {3: {1, 2}, 1: {2, 3}}
        assert everybody_linked(session) == {1: {2, 3}, 2: {1, 3}, 3: {1, 2}}
        row = session.get(GuestRow, 3)
        assert row is not None
        worked = worked_before(session, world.house, row, DAY)
        assert worked.kit == {"suit": ("M", JUNE)} and worked.lead is not None and worked.lead.given_kg == 5
        assert worked.rates is None and worked.dives == 0, "nobody logged a dive"
        assert [one.guest_id for one in find_earlier(session, "vale", DAY)] == [first]
    page = world.browser("Dora Desk").open("/guests/3/earlier")
    assert "Suit M fitted on Fri 12 Jun 2026" in page.words() and "5 kg, level" in page.words()
    assert "M: fits" in world.browser("Dora Desk").open("/kit/guests/3").words()
