"""Lead at the water: checked in one tap, changed on the spot, and what the next suggestion learns from it."""

from math import ceil

from sqlmodel import select

from app.records.kit_rail.kit import loans_of
from app.records.kit_rail.lead import LeadSuggestion, suggest_lead
from app.records.tables.days import DayRow
from app.records.tables.kit import KitItemRow, KitLoanRow, WeightsRow
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import party_view
from tests.groups_world import book
from tests.water_world import rows_of
from tests.web_ready import Ready
from tests.web_world import DAY, Page, World


def suggestion(world: World, guest_id: int) -> LeadSuggestion:
    """Return what is suggested for a guest now."""
    with world.house.store.reading() as session:
        guest = session.get(GuestRow, guest_id)
        assert guest is not None
        kit = loans_of(session, [guest_id]).get(guest_id, [])
        return suggest_lead(session, guest, party_view(session, guest.party_id).slot, kit)


def dress(world: World, guest_id: int, number: str, slot_id: int = 1, cover: str = "full") -> None:
    """Give a guest a 5 mm suit of size M."""
    with world.act() as act:
        suit = act.add(
            KitItemRow(kind="suit", number=number, size="M", thickness_mm=5, cover=cover, model="Blue")
        )
        act.add(
            KitLoanRow(item_id=suit.id or 0, guest_id=guest_id, slot_id=slot_id, out_at=act.now, out_by="x")
        )


def give(ready: Ready, name: str, kg: float) -> Page:
    """Write lead down at the water; the page after it."""
    return ready.page().send("change_lead", ready.at(f"/lead/{ready.guests[name]}"), given_kg=f"{kg:g}")


def seen(ready: Ready, page: Page, name: str, what: str) -> Page:
    """Tap what the guide saw of a guest's newest lead."""
    mine = [row for row in rows_of(ready, WeightsRow) if row.guest_id == ready.guests[name]]
    return page.send("check_float", ready.at(f"/float/{mine[-1].id}"), seen=what)


def test_who_floats_is_asked_for_one_more_and_so_is_the_next_suggestion(ready: Ready) -> None:
    world, ann = ready.world, ready.guests["Ann"]
    dress(world, ann, "W1")
    first = suggestion(world, ann)
    assert "0 of 2 checked" in ready.page().words() and "no lead written down" in ready.page().words()
    page = give(ready, "Ann", first.kg)
    assert "Lead written down." in page.words() and "not checked" in page.words()
    floated = seen(ready, page, "Ann", "floats")
    assert "Check of the lead kept." in floated.words() and f"{first.kg} kg floated" in floated.words()
    assert "1 of 2 checked" in floated.words()
    following = suggestion(world, ann)
    assert following.kg == first.kg + 1 and f"{first.kg + 1} kg was right" in " ".join(following.so)
    lead_page = world.browser("Dora Desk").open(f"/kit/guests/{ann}").words()
    assert f"Suggested: {first.kg + 1} kg" in lead_page and "the guest floated" in lead_page
    more = floated.send("change_lead", ready.at(f"/lead/{ann}?next"))
    assert f"Ann {first.kg + 1} kg not checked" in more.words() and f"{first.kg} kg floated" in more.words()
    level = seen(ready, more, "Ann", "level")
    assert "level: right" in level.words() and not level.forms("change_lead")[0].get("action", "").endswith(
        "next"
    )
    kept = [(row.given_kg, row.float_check, row.checked_by) for row in rows_of(ready, WeightsRow)]
    assert kept == [
        (first.kg, "floats", "Ines Instructor"), (first.kg + 1, "level", "Ines Instructor"),
    ]  # fmt: skip
    assert rows_of(ready, WeightsRow)[1].suggested_kg == first.kg + 1
    # A guest who comes again, another time and in another suit, begins where the check ended.
    (again,) = book(world, "Annie", slot_id=2)
    with world.act() as act:
        act.edit(act.get(GuestRow, again), None, {"full_name": "ANN  Vale"}, {})
    dress(world, again, "W2", 2)
    assert suggestion(world, again).kg == first.kg + 1
    with world.act() as act:
        row = act.session.exec(select(KitItemRow).where(KitItemRow.number == "W2")).one()
        act.edit(row, None, {"cover": "shorty"}, {})
    lighter = suggestion(world, again)
    assert lighter.kg < first.kg and "Suit, cylinder, water and body since then: −" in lighter.so[1].replace(
        "-", "−"
    )
    (stranger,) = book(world, "Anna", slot_id=2, born=1991)
    with world.act() as act:
        act.edit(act.get(GuestRow, stranger), None, {"full_name": "Ann Vale"}, {})
    assert len(suggestion(world, stranger).so) == 1, "another birth date is another person"


def test_who_sinks_is_asked_for_one_less(ready: Ready) -> None:
    page = give(ready, "Bo", 6)
    sank = seen(ready, page, "Bo", "sinks")
    assert "Gave 5 kg instead" in sank.words()
    assert suggestion(ready.world, ready.guests["Bo"]).kg == 5


def test_a_suit_that_wanted_more_of_others_wants_a_little_more(ready: Ready) -> None:
    world = ready.world
    dress(world, ready.guests["Ann"], "W1")
    dress(world, ready.guests["Bo"], "W2")
    for name in ("Ann", "Bo"):
        plain = suggestion(world, ready.guests[name]).plain_kg
        page = give(ready, name, max(0, ceil(plain)) + 3)
        seen(ready, page, name, "level")
    (cy,) = book(world, "Cy", slot_id=2)
    bare = suggestion(world, cy)
    assert len(bare.so) == 1
    dress(world, cy, "W3", 2)
    told = suggestion(world, cy)
    # Three kilograms from two checks: 3 * 0.64 / (0.64 + 2.56 / 2) = 1.0.
    assert told.so[1].startswith("This suit has wanted 1.0 kg more, from 2 checks.")
    assert told.kg == -int(-(told.plain_kg + 1.0) // 1)
    with world.act() as act:
        row = act.session.exec(select(KitItemRow).where(KitItemRow.number == "W3")).one()
        act.edit(row, None, {"size": "L"}, {})
    assert len(suggestion(world, cy).so) == 1, "another size is another suit"


def test_a_stale_check_says_what_stands_and_nonsense_is_refused(ready: Ready) -> None:
    page = give(ready, "Ann", 6)
    stale = ready.page()
    assert seen(ready, page, "Ann", "swims").status == 422
    seen(ready, page, "Ann", "floats")
    late = seen(ready, stale, "Ann", "sinks")
    assert late.status == 409 and "floats" in late.words() and "sinks" in late.words()
    assert [row.float_check for row in rows_of(ready, WeightsRow)] == ["floats"]
    bad = ready.page().send("change_lead", ready.at(f"/lead/{ready.guests['Bo']}"), given_kg="sixty")
    assert bad.status == 422 and bad.find("input", name="given_kg", value="sixty")
    assert len(rows_of(ready, WeightsRow)) == 1


def test_lead_is_the_own_groups(ready: Ready) -> None:
    give(ready, "Ann", 6)
    (cy,) = book(ready.world, "Cy", slot_id=2)
    token = dict(ready.page().form_fields("sign-out")[1])["token"]
    sent = {"token": token, "given_kg": "4"}
    assert ready.phone.post(ready.at(f"/lead/{cy}"), {**sent, "key": "a" * 32}).status == 404
    assert (
        ready.phone.post(ready.at("/float/99"), {"token": token, "key": "b" * 32, "seen": "level"}).status
        == 404
    )
    for name in ("Ivo Instructor", "Dora Desk", "Mona Manager"):
        browser = ready.world.browser(name)
        token = dict(browser.open("/today").form_fields("sign-out")[1])["token"]
        guest = ready.guests["Ann"]
        assert (
            browser.post(ready.at(f"/lead/{guest}"), {**sent, "token": token, "key": "c" * 32}).status == 404
        )
        seen_it = {"token": token, "key": "d" * 32, "seen": "level", "version": "1"}
        assert browser.post(ready.at("/float/1"), seen_it).status == 404
    assert [row.float_check for row in rows_of(ready, WeightsRow)] == [""]


def test_the_check_may_be_written_after_the_dive_until_the_day_is_signed_off(ready: Ready) -> None:
    give(ready, "Ann", 6)
    ready.everybody_out()
    page = ready.page("/wrap")
    done = seen(ready, page, "Ann", "level")
    assert done.url.split("?")[0].endswith("/wrap") and "level: right" in done.words(), done.words()
    with ready.world.act() as act:
        act.add(DayRow(day=DAY, closed_at=act.now, closed_by="Mona Manager"))
    refused = seen(ready, ready.page("/wrap"), "Ann", "sinks")
    assert refused.status == 422 and "dive_closed" in refused.rules()
    assert [row.float_check for row in rows_of(ready, WeightsRow)] == ["level"]


def test_what_a_suit_is_can_be_written_down(ready: Ready) -> None:
    world = ready.world
    dress(world, ready.guests["Ann"], "W1", cover="")
    full = suggestion(world, ready.guests["Ann"])
    desk = world.browser("Dora Desk")
    page, stale = desk.open("/kit/items/1"), desk.open("/kit/items/1")
    assert "taken as full" in page.words()
    bad = page.send("describe_suit", cover="", thickness_mm="50")
    assert bad.status == 422 and "Choose how much it covers." in bad.words()
    done = page.send("describe_suit", cover="shorty", thickness_mm="5", model="Green")
    assert "The suit is described." in done.words() and "Green" in done.words()
    short = suggestion(world, ready.guests["Ann"])
    assert short.kg < full.kg and short.suit == "Green, shorty 5 mm M"
    clash = stale.send("describe_suit", cover="two-piece", thickness_mm="5", model="Green")
    assert clash.status == 409 and suggestion(world, ready.guests["Ann"]).suit == short.suit
    with world.act() as act:
        mask = act.add(KitItemRow(kind="mask", number="M1", size="medium"))
    token = dict(page.form_fields("sign-out")[1])["token"]
    sent = {"token": token, "key": "e" * 32, "version": "1", "cover": "full", "thickness_mm": "5"}
    assert desk.post(f"/kit/items/{mask.id}/suit", sent).status == 404
    assert not ready.phone.open("/kit/items/1").forms("describe_suit")


def test_a_suit_that_is_back_on_the_rail_still_counts_for_the_next_dive(ready: Ready) -> None:
    world, ann = ready.world, ready.guests["Ann"]
    dress(world, ann, "W1")
    worn = suggestion(world, ann)
    with world.act() as act:
        loan = act.session.exec(select(KitLoanRow)).one()
        act.edit(loan, None, {"back_at": act.now, "back_by": "x"}, {})
    back = suggestion(world, ann)
    assert (back.kg, back.suit) == (worn.kg, worn.suit)
    assert back.assumed == "No suit is given out now: this is with suit W1, worn last." and worn.assumed == ""
