"""Flights through HTTP: asked at the desk, held against each slot and the water, told after it."""

from datetime import UTC, datetime, timedelta

from sqlmodel import select

from app.records.tables.groups import GroupRow
from app.records.tables.parties import GuestRow
from tests.booking_world import CONTACT, begin, booked, guest_form, review
from tests.groups_world import give_cylinders, group_of, members_of, water_event
from tests.web_ready import Ready
from tests.web_world import Page, World

# The morning slot ends at 12:00 on the shop's clock: 18 h before a flight at 06:00 the next day.
FITS = {"flight": "2026-07-16", "flight_clock": "06:00"}
TOO_SOON = {"flight": "2026-07-16", "flight_clock": "05:59"}


def guests(world: World) -> list[GuestRow]:
    """Return every guest as stored."""
    with world.house.store.reading() as session:
        return list(session.exec(select(GuestRow).order_by(GuestRow.id)))  # type: ignore[arg-type]


def of_first(flight: dict[str, str]) -> dict[str, str]:
    """Return a flight as the first guest of the booking form has it."""
    return {f"g1_{name}": value for name, value in flight.items()}


def tell(world: World, guest_id: int, at: datetime | None, told: str = "at") -> None:
    """Write down a flight of a guest, as told at the desk."""
    with world.act() as act:
        act.edit(act.get(GuestRow, guest_id), None, {"flight_told": told, "flight_at": at}, {})


def test_the_form_asks_and_takes_nothing_for_an_answer(world: World) -> None:
    desk = world.browser("Dora Desk")
    for flight, sentence in (
        ({"flight": ""}, "Choose when the guest flies"),
        ({"flight": "soon"}, "Choose when the guest flies"),
        ({"flight": "2026-07-01"}, "from today on"),
        ({"flight": "2026-07-16", "flight_clock": "6 o'clock"}, "as hours and minutes"),
    ):
        page = review(desk, 1, **of_first(flight))
        assert page.status == 422 and sentence in page.words() and guests(world) == []
        assert page.find("input", name="g1_full_name")[0].get("value") == "Pella Windrow"
    unknown = review(desk, 1, g1_flight="unknown")
    assert "flight not known" in unknown.words() and "Nobody knows when Pella flies" in unknown.words()
    page = unknown.send("book_party")
    assert "Nobody knows when Pella flies. Ask" in page.text and guests(world)[0].flight_told == "unknown"
    later = review(desk, 1, g1_flight="from 2026-07-19").send("book_party")
    assert "flies Sun 19 Jul or later" in later.words()
    assert guests(world)[1].flight_at == datetime(2026, 7, 18, 23, 0, tzinfo=UTC)
    midnight = review(desk, 1, g1_flight="2026-07-17").send("book_party")
    assert "flies Fri 17 Jul 00:00" in midnight.words()


def test_exactly_eighteen_hours_may_be_booked_and_a_minute_less_not(world: World) -> None:
    desk = world.browser("Dora Desk")
    refused = review(desk, 1, **of_first(TOO_SOON))
    assert refused.status == 422 and "no_fly_single" in refused.rules()
    assert "Found: 17.9 h" in refused.words() and "Needed: at least 18 h" in refused.words()
    assert refused.find("input", name="g1_flight_clock")[0].get("value") == "05:59"
    # All slots of the day end too late for this flight: each says so beside its choice.
    assert refused.words().count("Too late for the flight of") == 3
    fits = review(desk, 1, **of_first(FITS))
    assert "Pella flies sooner after this dive than advised" in fits.words()
    page = fits.send("book_party")
    assert "flies Thu 16 Jul 06:00" in page.words() and "sooner after this dive than advised" in page.words()
    # The other slots are refused and listed with the reason; none of them is offered.
    assert not page.find("option", value="2") and not page.find("option", value="3")
    assert {e.get("data-slot") for e in page.find("li", data_rule="no_fly_single")} == {"2", "3"}
    assert "Too late for the flight of Pella" in page.words()


def test_choosing_marks_the_slots_that_are_too_late(world: World) -> None:
    desk = world.browser("Dora Desk")
    page = desk.open("/welcome/book?day=2026-07-15&flight=2026-07-16&flight_clock=06:00")
    assert page.words().count("Too late for that flight.") == 2
    form = desk.open("/welcome/book?slot=1&people=1&flight=2026-07-16&flight_clock=06:00")
    assert form.find("input", name="g1_flight_clock")[0].get("value") == "06:00"
    assert [e.get("value") for e in form.find("option", selected="")].count("2026-07-16") == 1
    assert "Too late for that flight" not in desk.open("/welcome/book?day=2026-07-15&flight=soon").words()


def test_moving_asks_the_flight_again(world: World) -> None:
    desk = world.browser("Dora Desk")
    page = review(desk, 1, **of_first({"flight": "2026-07-16", "flight_clock": "09:00"})).send("book_party")
    assert page.find("option", value="2") and not page.find("option", value="3")
    refused = page.send("move_party", slot="3")
    assert refused.status == 422 and "flies too soon" in refused.words()
    moved = page.send("move_party", slot="2")
    assert "13:30 Long Jetty" in moved.words() and "sooner after this dive than advised" in moved.words()


def test_adding_a_guest_asks_and_writing_the_truth_down_is_never_refused(world: World) -> None:
    page = booked(world, 1)
    form = page.browser.open(f"{page.url.split('?')[0]}/guests/new")
    refused = form.send("add_guest", **guest_form("Corin Windrow", **TOO_SOON))
    assert refused.status == 422 and "Corin flies too soon" in refused.words() and len(guests(world)) == 1
    page = form.send("add_guest", **guest_form("Corin Windrow", **FITS))
    assert len(guests(world)) == 2
    edit = page.browser.open("/guests/2/edit")
    assert edit.find("input", name="flight_clock")[0].get("value") == "06:00"
    told = edit.send("edit_guest", flight_clock="04:00")
    assert guests(world)[1].flight_at == datetime(2026, 7, 16, 3, 0, tzinfo=UTC)
    assert told.words().count("Corin flies too soon after this dive") == 2
    assert "Flight too soon after this slot" in told.words()
    # Out and in again: the flight is asked there too.
    out = told.send("leave_out_guest", "/guests/2/leave-out")
    back = out.send("bring_back_guest", "/guests/2/bring-back")
    assert back.status == 422 and "Corin flies too soon" in back.words()
    cancelled = out.browser.open(out.url).send("cancel_party")
    tell(world, 1, datetime(2026, 7, 16, 3, 0, tzinfo=UTC))
    again = cancelled.send("rebook_party")
    assert again.status == 422 and "Pella flies too soon" in again.words()


def test_a_flight_told_after_the_dive_is_written_down(world: World) -> None:
    """A flight found out late is the one that matters most."""
    page = booked(world, 1)
    edit = page.browser.open("/guests/1/edit")
    assert edit.send("edit_guest", **{**TOO_SOON, "flight_clock": "00:30"}).status == 200
    assert guests(world)[0].flight_told == "at"
    # A stale version answers with both values.
    stale = edit.send("edit_guest", flight="none")
    assert stale.status == 409 and guests(world)[0].flight_told == "at"


def test_no_group_is_made_with_somebody_who_flies_too_soon(world: World) -> None:
    booked(world, 2, ("Pella Windrow", "Corin Windrow"))
    first, second = (one.id or 0 for one in guests(world))
    tell(world, second, datetime(2026, 7, 16, 3, 0, tzinfo=UTC))
    desk = world.browser("Dora Desk")
    form = desk.open("/groups/slots/2/new")
    guide = form.find("option", value="2")[0].get("value") or ""
    refused = form.send("make_group", guests=[str(first), str(second)], guide=guide)
    assert refused.status == 422 and "Corin flies too soon" in refused.words()
    assert form.send("make_group", guests=[str(first)], guide=guide).status == 200


def test_a_late_group_goes_in_without_the_guest_who_flies(ready: Ready) -> None:
    """Planned back within the slot, it was fine; hours later the same flight is too soon for that guest."""
    world = ready.world
    name, number = next(iter(ready.guests.items()))
    leaves = world.clock() + timedelta(hours=18, minutes=60)
    tell(world, number, leaves)
    assert (
        "no_fly_single" not in ready.page("/out").rules() or "flies too soon" not in ready.page("/out").text
    )
    world.clock.pass_minutes(50)
    ready.phone.sign_in("Ines Instructor")
    page = ready.page("/out")
    assert f"{name} flies too soon after this dive" in page.words()
    refused = ready.go_in(page)
    assert refused.status == 422 and ready.in_water() == set()
    assert ready.go_in(stays=(name,)).status == 200
    assert ready.in_water() == {"Ines Instructor", *ready.guests} - {name}


def test_unknown_at_the_desk_counts_as_asked_once_the_days_form_is_signed(ready: Ready) -> None:
    for number in ready.guests.values():
        tell(ready.world, number, None, "unknown")
    assert "Nobody knows when" not in ready.page("/out").words()
    assert ready.go_in().status == 200


def test_after_the_dive_the_page_says_from_when(ready: Ready) -> None:
    """Back at 09:48 on the shop's clock: 18 h later is 03:48, 24 h later 09:48 the next day."""
    world = ready.world
    number = next(iter(ready.guests.values()))
    ready.everybody_out()
    back = world.clock()
    ready.phone.sign_in("Ines Instructor")
    clock = f"{back + timedelta(hours=1):%H:%M}"
    allowed = f"Thu 16 Jul {back + timedelta(hours=19):%H:%M}"
    page = ready.page("/wrap")
    assert f"May fly from {allowed} (advised: from Thu 16 Jul {clock})" in page.words()
    assert "Driving over a pass" in page.words() and "no wait is a guarantee" in page.words()
    tell(world, number, back + timedelta(hours=17))
    assert "too soon" in ready.page("/wrap").words()
    tell(world, number, back + timedelta(hours=20))
    assert "sooner than advised" in ready.page("/wrap").words()
    with world.house.store.reading() as session:
        row = session.get(GuestRow, number)
        assert row is not None
        party = row.party_id
    desk = world.browser("Dora Desk")
    for path in (f"/parties/{party}", f"/guests/{number}/health"):
        assert f"May fly from {allowed}" in desk.open(path).words()
    second_dive(world, number)
    later = world.clock()
    desk.sign_in("Dora Desk")
    again = desk.open(f"/parties/{party}")
    assert f"May fly from Thu 16 Jul {later + timedelta(hours=19):%H:%M}" in again.words()
    # The other guest of the party dived once.
    assert "18 h after 2 dives" in again.words() and again.words().count(f"May fly from {allowed}") == 1


def second_dive(world: World, guest_id: int) -> None:
    """Take a guest under water once more, in a second group."""
    world.clock.pass_minutes(90)
    group_id = group_of(world, [guest_id], guide="Ivo Instructor", name="Z", slot_id=2)
    give_cylinders(world, group_id)
    with world.act() as act:
        act.edit(act.get(GroupRow, group_id), None, {"entered_at": world.clock()}, {})
    for event in ("in", "back"):
        for member in members_of(world, group_id).values():
            water_event(world, group_id, member, event)
        world.clock.pass_minutes(20 if event == "in" else 0)


def test_the_desk_books_others_who_do_not_fly(world: World) -> None:
    """Two guests, one of whom flies: the refusal names that one."""
    desk = world.browser("Dora Desk")
    page: Page = begin(desk, 3, 2)
    typed = {**CONTACT, **guest_form("Pella Windrow", "g1_"), **guest_form("Corin Windrow", "g2_", **FITS)}
    refused = page.send("review_party", slot="3", walk_in="yes", **typed)
    assert refused.status == 422 and "Corin flies too soon" in refused.words()
    assert "Pella flies" not in refused.words()
