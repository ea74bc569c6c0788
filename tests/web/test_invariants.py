"""Who is in the water is one record per person: nothing but that person's own return takes anybody off it."""

from datetime import timedelta

import pytest
from sqlmodel import select

from app.records.tables.parties import GuestRow
from app.records.tables.water import CountRow, WaterEventRow
from app.records.water_side.water import dive_times
from tests.groups_world import book, group_of
from tests.water_world import closing, made_by, procedures, written_down
from tests.web_ready import GUIDE, Ready


def counts(ready: Ready, way: str = "in") -> list[tuple[str, int, bool]]:
    """Return the counts as stored: method, number, whether it agreed."""
    with ready.world.house.store.reading() as session:
        rows = session.exec(select(CountRow).where(CountRow.way == way).order_by("id"))
        return [(row.method, row.counted, row.agrees) for row in rows]


def test_nobody_closes_a_dive_while_one_person_is_not_back(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(18)
    written_down(ready)
    assert {"roll_call_by_name", "count_methods"} <= closing(ready).rules()
    for name in (GUIDE, "Ann"):
        ready.back(name)
    # Every head is counted, and still one name is open.
    ready.count(3)
    ready.count(3, ready.world.browser("Dora Desk"))
    page = closing(ready)
    assert page.status == 422 and "Bo is not marked as back" in page.words()
    assert ready.in_water() == {"Bo"}
    assert "Everyone is back" not in ready.page("/back").words()
    ready.back("Bo")
    assert "Everyone is back" in ready.page("/back").words()
    assert closing(ready).status == 200


def test_editing_moving_and_cancelling_take_nobody_off_the_water_list(ready: Ready) -> None:
    lead, desk, manager = (ready.world.browser(name) for name in ("Lena Lead", "Dora Desk", "Mona Manager"))
    (cy,) = book(ready.world, "Cy")
    other = group_of(ready.world, [cy], guide="Ivo Instructor", name="B")
    pages = {
        path: lead.open(path)
        for path in ("/groups", f"/groups/{ready.group_id}", f"/groups/{other}", "/groups/slots/1")
    }
    party = desk.open("/parties/1")
    ready.go_in()
    everybody = ready.in_water()
    assert len(everybody) == 3
    # Every form that was on these pages before, sent as it stood, and those of the booking.
    tried = 0
    for page in (*pages.values(), party, desk.open("/parties/1"), lead.open(f"/groups/{ready.group_id}")):
        for form in page.find("form", method="post"):
            action = form.get("data-action") or ""
            if action in ("sign-out", "hand_over"):
                continue
            to, pairs = page.form_fields(action, form.get("action"))
            typed = {**dict(pairs), "to": "out", "reason": "weather", "why": "weather"}
            page.browser.post(to, typed)
            page.browser.post(to, {**dict(pairs), "key": f"{tried:032d}"})
            tried += 1
            assert ready.in_water() == everybody, (action, to)
    assert tried >= 10
    for verb in ("cancelled", "no-show"):
        with ready.world.act() as act:
            act.edit(act.get(GuestRow, ready.guests["Ann"]), None, {"state": verb}, {})
        assert ready.in_water() == everybody
    board = manager.open("/today/water")
    assert set(board.people()) == {str(number) for number in ready.members.values()}
    assert "3 in the water" in manager.open("/look-back").text


def test_a_restart_a_new_day_and_a_clock_that_jumps_move_nobody(ready: Ready) -> None:
    ready.go_in()
    for minutes in (-90, 24 * 60, 400 * 24 * 60):
        ready.world.clock.pass_minutes(minutes)
        page = ready.world.browser("Dora Desk").open("/today/water")
        assert set(page.people().values()) == {"in"} and len(page.people()) == 3
    ready.phone = ready.world.browser(GUIDE)
    for name in ready.members:
        assert ready.back(name).status == 200
    assert ready.in_water() == set()


def test_a_count_is_never_suggested_and_one_alone_brings_nobody_back(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(18)
    for name in ready.members:
        page = ready.back(name)
    assert dict(page.form_fields("count_heads")[1])["counted"] == ""
    assert "Everyone is back" not in page.words()
    words = " ".join("".join(e.itertext()) for e in page.find("button"))
    assert "all" not in words.lower().split() and "everyone" not in words.lower()
    written_down(ready)
    assert "count_methods" in closing(ready).rules()
    second = ready.count(3)
    assert "Everyone is back" in second.words() and counts(ready) == [("names", 3, True), ("heads", 3, True)]
    assert closing(ready).status == 200


def test_the_second_counter_does_not_see_the_first_result(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(18)
    ready.back(GUIDE)
    ready.count(3)
    desk = ready.world.browser("Dora Desk")
    page = ready.page("/back", desk)
    card = next(e for e in page.find("section") if e.get("id") == "count")
    said = " ".join("".join(card.itertext()).split())
    assert "One head count is in" in said and "3" not in said
    assert dict(page.form_fields("count_heads")[1])["counted"] == ""


def test_the_same_person_counting_twice_is_one_result(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(18)
    for _ in range(2):
        ready.count(3)
    written_down(ready)
    assert {"count_methods", "roll_call_by_name"} <= closing(ready).rules()


def test_a_mismatch_leads_to_a_recount_and_a_second_to_the_procedure(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(18)
    for name in ready.members:
        ready.back(name)
    first = ready.count(2)
    assert "The counts do not agree. Count everyone again" in first.words()
    assert "Everyone is back" not in first.words() and procedures(ready) == []
    written_down(ready)
    assert "counts_agree" in closing(ready).rules()
    second = ready.count(4)
    assert "The missing-person procedure runs" in second.words() and len(procedures(ready)) == 1
    assert made_by(ready) == ["missing_settled"], "serious from its first moment"
    # It never ends by waiting, nor by a count that agrees.
    ready.world.clock.pass_minutes(600)
    ready.phone = ready.world.browser(GUIDE)
    assert "Everyone is back" not in ready.count(3).words()
    assert "missing_settled" in closing(ready).rules()
    number = procedures(ready)[0].id
    at = ready.at(f"/found/{number}")
    nobody = ready.page("/back").send("report_found", at, member="", where="Behind the van")
    assert nobody.status == 422 and "Choose who was missing." in nobody.words()
    assert "Behind the van" in nobody.text
    nowhere = ready.page("/back").send("report_found", at, member=str(ready.members["Bo"]), where=" ")
    assert nowhere.status == 422 and "Write where the person was found." in nowhere.words()
    assert procedures(ready)[0].ended_at is None
    found = ready.page("/back").send(
        "report_found", at, member=str(ready.members["Bo"]), where="Behind the van"
    )
    assert found.status == 200 and "Behind the van" in found.words() and "Everyone is back" in found.words()
    assert closing(ready).status == 200
    assert sorted(made_by(ready)) == ["missing_settled"]


def test_a_recount_that_agrees_is_enough_and_the_wrong_count_is_an_incident(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(18)
    for name in ready.members:
        ready.back(name)
    ready.count(2)
    assert "Everyone is back" in ready.count(3).words()
    written_down(ready)
    assert closing(ready).status == 200 and made_by(ready) == ["counts_agree"]


def test_anybody_ashore_may_start_the_procedure_at_any_time(ready: Ready) -> None:
    ready.go_in()
    for name in ("Dora Desk", "Ivo Instructor", "Mona Manager"):
        page = ready.page("/back", ready.world.browser(name)).send("report_missing", member="", last_seen="")
        assert page.status == 200 and "somebody" not in page.words().lower().split("missing-person")[0]
    known = ready.page("/back").send(
        "report_missing", member=str(ready.members["Ann"]), last_seen="At the buoy, 09:10"
    )
    assert "Missing: Ann" in known.words() and "At the buoy" in known.words()
    assert "112" in known.text and 'href="tel:112"' in known.text
    assert len(procedures(ready)) == 4 and made_by(ready) == ["missing_settled"]
    strange = ready.page("/back").send("report_missing", member="987654", last_seen="x" * 9000)
    assert strange.status == 200 and procedures(ready)[-1].member_id is None
    assert len(procedures(ready)[-1].last_seen) == 2000
    assert ready.in_water() == set(ready.members), "being missed is no return"


def test_coming_out_is_taken_with_a_lapsed_sign_in_an_old_page_and_an_odd_clock(ready: Ready) -> None:
    ready.go_in()
    page = ready.page("/back")
    ready.world.clock.pass_minutes(47)
    odd = (ready.world.clock.at - timedelta(days=400)).isoformat()
    to, pairs = page.form_fields("mark_back", ready.at(f"/back/{ready.members['Bo']}"))
    done = ready.phone.post(to, {**dict(pairs), "device_at": odd})
    assert done.status == 200 and ready.in_water() == {GUIDE, "Ann"}
    (event,) = [one for one in ready.events() if one.event == "back"]
    assert event.device_at is not None and event.device_at.year == 2025
    assert event.happened_at == ready.world.clock.at and "clock" in event.flag
    # The same tap arrives again, and then from the lead's phone, which did not know.
    assert ready.phone.post(to, {**dict(pairs), "device_at": odd}).status == 200
    lead = ready.world.browser("Lena Lead")
    token = lead.open("/today").find("input", name="token")[0].get("value") or ""
    ready.world.clock.pass_minutes(1)
    late = {"key": "l" * 32, "token": token, "device_at": "yesterday", "strange": "field"}
    assert lead.post(to, late).status == 200
    backs = [one for one in ready.events() if one.event == "back"]
    assert len(backs) == 2 and backs[1].flag == "marked as back, was not in the water"
    with ready.world.house.store.reading() as session:
        times = dive_times(session, [ready.members["Bo"]])[ready.members["Bo"]]
    assert times.back == backs[0].happened_at, "the first return is the time out"


@pytest.mark.parametrize("verb", ["call_off", "report_missing"])
def test_ending_a_dive_and_missing_somebody_are_taken_with_a_lapsed_sign_in(ready: Ready, verb: str) -> None:
    ready.go_in()
    page = ready.page("/back")
    ready.world.clock.pass_minutes(47)
    done = page.send(verb)
    assert done.status == 200 and ready.in_water() == set(ready.members)
    assert (ready.group().aborted_at is not None) == (verb == "call_off")
    assert len(procedures(ready)) == (verb == "report_missing")


def test_coming_out_wakes_no_lapsed_sign_in(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(47)
    for name in ready.members:
        assert ready.back(name).status == 200
    assert ready.count(3).status == 200 and ready.in_water() == set()
    for path in ("/today", "/water", "/gas", "/water/1"):
        assert ready.phone.open(path, follow=False).headers.get("location") == "/sign-in", path


def test_a_mark_taken_back_puts_the_person_in_the_water_again_and_undoes_a_count(ready: Ready) -> None:
    ready.everybody_out()
    written_down(ready)
    assert closing(ready).status == 200
    still = ready.page("/back").send("still_in", ready.at(f"/still-in/{ready.members['Bo']}"), why="mixed up")
    assert still.status == 200 and ready.in_water() == {"Bo"}
    assert ready.group().closed_at is None, "nobody is in the water of a closed dive"
    newest = ready.events()[-1]
    assert newest.flag == "put right: mixed up" and newest.happened_at == ready.events()[0].happened_at
    assert "The counts do not agree" in still.words()
    ready.back("Bo")
    assert "count_methods" in closing(ready).rules()
    ready.count(3)
    assert closing(ready).status == 200 and made_by(ready) == ["counts_agree"]


def test_nobody_goes_in_by_a_correction(ready: Ready) -> None:
    before = ready.page()
    token = before.find("input", name="token")[0].get("value") or ""
    at = ready.at(f"/still-in/{ready.members['Bo']}")
    sent = ready.phone.post(at, {"key": "c" * 32, "token": token})
    assert sent.status == 422 and "roll_call_by_name" in sent.rules() and ready.in_water() == set()
    # Nor by a return of somebody who was not away.
    assert (
        ready.phone.post(ready.at(f"/back/{ready.members['Bo']}"), {"key": "b" * 32, "token": token}).status
        == 200
    )
    sent = ready.phone.post(at, {"key": "f" * 32, "token": token})
    assert sent.status == 422 and ready.in_water() == set()
    ready.go_in(stays=("Bo",))
    sent = ready.phone.post(at, {"key": "d" * 32, "token": token})
    assert sent.status == 422 and ready.in_water() == {GUIDE, "Ann"}
    ready.phone.post(ready.at(f"/back/{ready.members['Bo']}"), {"key": "g" * 32, "token": token})
    ready.world.clock.pass_minutes(10)
    for name in (GUIDE, "Ann"):
        ready.back(name)
    page = ready.count(2)
    assert "Everyone is back" in page.words() and page.people()[str(ready.members["Bo"])] == "never-entered"
    ready.page("/wrap").send("read_pressures", **{f"bar_{ready.members[n]}": "100" for n in (GUIDE, "Ann")})
    ready.write_dive()
    assert closing(ready).status == 200


def test_the_instructors_end_is_final(ready: Ready) -> None:
    page = ready.page().send("call_off", why="Thunder")
    assert page.status == 200 and "Called off" in page.words() and "Thunder" in page.words()
    assert "abort_is_final" in ready.go_in(ready.page("/out")).rules()
    for name in ("Dora Desk", "Lena Lead", "Mona Manager"):
        browser = ready.world.browser(name)
        for path in ("/groups", f"/groups/{ready.group_id}"):
            shown = browser.open(path)
            for form in shown.find("form", method="post"):
                to, pairs = shown.form_fields(form.get("data-action") or "", form.get("action"))
                if "sign-out" not in to:
                    browser.post(to, {**dict(pairs), "aborted_at": "", "aborted_by": ""})
    group = ready.group()
    assert (group.aborted_by, group.aborted_why) == (GUIDE, "Thunder")
    again = ready.page().browser.post(
        ready.at("/call-off"),
        {"key": "e" * 32, "token": page.find("input", name="token")[0].get("value") or "", "why": "other"},
    )
    assert again.status == 200 and ready.group().aborted_why == "Thunder"
    assert ready.events() == []


def test_a_dive_called_off_on_the_way_comes_out_like_any_other(ready: Ready) -> None:
    ready.go_in()
    ready.page("/back").send("call_off", why="Current")
    assert ready.in_water() == set(ready.members)
    ready.world.clock.pass_minutes(10)
    for name in ready.members:
        ready.back(name)
    ready.count(3)
    written_down(ready)
    assert closing(ready).status == 200 and ready.group().aborted_why == "Current"


def test_events_stay_as_they_were_written(ready: Ready) -> None:
    ready.go_in()
    first = [(one.id, one.event, one.by) for one in ready.events()]
    ready.back("Bo")
    ready.page("/back").send("still_in", ready.at(f"/still-in/{ready.members['Bo']}"))
    assert [(one.id, one.event, one.by) for one in ready.events()][:3] == first
    with pytest.raises(Exception, match="add only"), ready.world.act() as act:
        row = act.session.exec(select(WaterEventRow)).first()
        act.session.delete(row)
        act.session.flush()
    assert ready.in_water() == set(ready.members)
