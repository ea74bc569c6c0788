"""The water side: every action of a group's run works, is its own people's, and keeps what was typed."""

import re

import pytest
from sqlmodel import select

from app.records.groups.groups import group_view
from app.records.tables.groups import CylinderOutRow
from app.records.tables.water import BriefingRow, SkillRow
from app.rules.briefing import BRIEFING, KIT_CHECK
from app.rules.sign_off import SKILLS
from tests.groups_world import book, group_of, person_id
from tests.water_world import chosen, diver, rows_of
from tests.web_ready import GUIDE, Ready
from tests.web_world import World

BRIEFED = {item.key: item.states[0] for item in BRIEFING if item.states} | {
    "turn": "100",
    "lost": "1",
    "time": "20",
}


BY_SAME = "No checked kit waits for this person. Choose somebody who neither wears it nor checked it."


def fresh_group(world: World) -> Ready:
    """A group for which nothing was done yet."""
    guests = book(world, "Cy", "Di")
    group_id = group_of(world, guests, name="B")
    with world.house.store.reading() as session:
        members = {one.name: one.row.id or 0 for one in group_view(session, group_id).members}
    return Ready(world, group_id, members, dict(zip(("Cy", "Di"), guests, strict=True)), world.browser(GUIDE))


def test_an_instructor_sees_the_own_groups_of_today_and_the_lead_all(ready: Ready) -> None:
    (cy,) = book(ready.world, "Cy", slot_id=2)
    group_of(ready.world, [cy], guide="Ivo Instructor", name="B", slot_id=2)
    own = ready.phone.open("/water").words()
    assert "Group A" in own and "Group B" not in own and "Ann" in own
    other = ready.world.browser("Ivo Instructor").open("/water").words()
    assert "Group B" in other and "Group A" not in other
    lead = ready.world.browser("Lena Lead").open("/water").words()
    assert "Group A" in lead and "Group B" in lead
    nothing = ready.world.browser("Ivo Instructor")
    ready.world.clock.pass_minutes(24 * 60)
    assert nothing.sign_in("Ivo Instructor").status == 200
    assert "Your groups of today appear here" in nothing.open("/water").words()


POSTS = (
    "/briefing", "/kit-check/1", "/skills", "/skills/1", "/pressures", "/out", "/call-off", "/dive",
    "/pressures/1/end", "/times/1", "/close", "/cylinders-back",
)  # fmt: skip
COMING_OUT = ("/back/1", "/still-in/1", "/count", "/missing", "/found/1")


@pytest.mark.parametrize("who", ["Ivo Instructor", "Dora Desk", "Mona Manager", "Kim Keeper"])
def test_a_group_is_not_here_for_who_does_not_run_it(ready: Ready, who: str) -> None:
    browser = ready.world.browser(who)
    sent = {
        "key": "k" * 32,
        "token": browser.open("/today").find("input", name="token")[0].get("value") or "",
    }
    for path in ("", "/out", "/wrap"):
        assert ready.page(path, browser).status == 404, path
    for path in POSTS:
        assert browser.post(ready.at(path), sent).status == 404, path
    may = {
        "Ivo Instructor": {"/back/1", "/still-in/1", "/count", "/missing"},
        "Dora Desk": {"/count", "/missing"},
        "Mona Manager": {"/count", "/missing"},
        "Kim Keeper": set(),
    }[who]
    assert ready.page("/back", browser).status == (200 if may else 404)
    for number, path in enumerate(COMING_OUT):
        answer = browser.post(ready.at(path), {**sent, "key": f"{number:032d}"})
        # What is there to be found depends on whether the procedure was started above.
        assert (answer.status != 404) == (path in may or (path == "/found/1" and "/missing" in may)), path
    assert ready.group().aborted_at is None and ready.group().entered_at is None


def test_what_is_not_there_is_not_here(ready: Ready) -> None:
    lead = ready.world.browser("Lena Lead")
    sent = {"key": "k" * 32, "token": lead.open("/today").find("input", name="token")[0].get("value") or ""}
    for path in ("", "/out", "/back", "/wrap"):
        assert lead.open(f"/water/999{path}").status == 404
        assert lead.open(f"/water/{'9' * 30}{path}").status == 404
    for path in (*POSTS, *COMING_OUT):
        assert lead.post(f"/water/999{path}", sent).status == 404, path
    other = fresh_group(ready.world)
    strange = other.members["Cy"]
    for path in (f"/kit-check/{strange}", f"/skills/{other.guests['Cy']}"):
        answers = {"air_on": "open"} if "kit" in path else {"equalise": "shown"}
        assert (
            lead.post(
                ready.at(path), {**sent, **answers, "key": path.rjust(32, "p").replace("/", "_")}
            ).status
            == 404
        )
    for number, path in enumerate(
        (f"/back/{strange}", f"/still-in/{strange}", f"/times/{strange}", f"/pressures/{strange}/end")
    ):
        assert lead.post(ready.at(path), {**sent, "key": f"{number:032d}"}).status == 404, path
    assert lead.post(ready.at(f"/pressures/{ready.members['Ann']}/middle"), sent).status == 404


def test_the_briefing_is_kept_with_who_said_it_and_unchanged_answers_once(ready: Ready) -> None:
    group = fresh_group(ready.world)
    page = group.page()
    assert "0 of 9" in page.words() and chosen(page, "abort") == [] and "plan_issued" in page.rules()
    bad = page.send("answer_briefing", **{**BRIEFED, "turn": "a hundred", "ears": "maybe"})
    assert bad.status == 422 and bad.find("input", name="turn")[0].get("value") == "a hundred"
    assert "Write all start back when the lowest gauge reads as a number in bar" in bad.words()
    assert "Choose an answer: clear the ears early" in bad.words() and chosen(bad, "abort") == ["agreed"]
    before = len(rows_of(ready, BriefingRow))
    to, pairs = page.form_fields("answer_briefing")
    typed = {**dict(pairs), **BRIEFED}
    assert group.phone.post(to, typed).status == 200
    assert group.phone.post(to, typed).status == 200
    rows = rows_of(ready, BriefingRow)[before:]
    assert len(rows) == len(BRIEFING) and {one.by for one in rows} == {GUIDE}
    done = group.page()
    assert "9 of 9" in done.words() and chosen(done, "abort") == ["agreed"]
    assert "briefing_complete" not in done.rules()
    done.send("answer_briefing", abort="not yet")
    assert [one.item for one in rows_of(ready, BriefingRow)[before + len(BRIEFING) :]] == ["abort"]
    assert "briefing_complete" in group.page().rules()


def test_each_persons_kit_is_checked_on_its_own(ready: Ready) -> None:
    group = fresh_group(ready.world)
    at = group.at(f"/kit-check/{group.members['Cy']}")
    good = {item.key: item.states[0] for item in KIT_CHECK}
    page = group.phone.open(at)
    bad = page.send("check_kit", **{**good, "weights": "heavy"})
    assert bad.status == 422 and "Choose an answer: weights can be dropped" in bad.words()
    assert chosen(bad, "air_on") == ["open"] and chosen(bad, "weights") == []
    done = page.send("check_kit", **good)
    assert "0 of 3 people" in done.words() and "7 of 7, one pair of eyes" in done.words()
    page = group.phone.open(at)
    lena, ines = (f"staff-{person_id(ready.world, name)}" for name in ("Lena Lead", GUIDE))
    offered = {e.get("value") for e in page.root.iter("option")}
    cy = f"guest-{group.guests['Cy']}"
    assert lena in offered and not offered & {ines, cy}, "neither who checked first nor the wearer"
    to, pairs = page.form_fields("check_kit")
    for number, wrong in enumerate((ines, cy, "staff-999")):
        answer = group.phone.post(to, {**dict(pairs), "second": wrong, "key": f"{number:032d}"})
        assert answer.status == 422 and "looked as second" in answer.words(), wrong
    assert BY_SAME in group.page().send("second_look", second=ines).words()
    done = group.page().send("second_look", second=lena)
    assert "1 of 3 people" in done.words() and "seen by Lena Lead too" in done.words()
    about = {one.about for one in rows_of(ready, BriefingRow) if one.group_id == group.group_id}
    assert about == {f"guest-{group.guests['Cy']}"}
    reasons = {
        e.get("data-rule"): "".join(e.itertext()) for e in done.find("li", data_rule="kit_check_complete")
    }
    assert reasons and "Cy" not in " ".join(reasons.values())


def test_skills_are_signed_for_all_but_never_over_an_exception(ready: Ready) -> None:
    group = fresh_group(ready.world)
    one = group.at(f"/skills/{group.guests['Cy']}")
    page = group.phone.open(one)
    bad = page.send("sign_guest_skills", mask_clear="nearly")
    assert bad.status == 422 and "Choose what you saw." in bad.words()
    page.send("sign_guest_skills", mask_clear="needs-work", equalise="shown")
    everybody = group.page()
    assert "Everyone not marked yet showed all 8" in everybody.words()
    done = everybody.send("sign_skills")
    assert done.status == 200 and "1 of 2 guests" in done.words() and "7 of 8 shown" in done.words()
    assert "Cy 7 of 8 shown: stays in shallow water" in done.words()
    shown = group.phone.open(one)
    assert (
        "Needs work at try 1, seen by Ines Instructor" in shown.words() and chosen(shown, "mask_clear") == []
    )
    assert "Stays in shallow water" in shown.words() and "skills_required_set" in done.rules()
    ready.world.clock.pass_minutes(1)
    shown.send("sign_guest_skills", mask_clear="needs-work")
    ready.world.clock.pass_minutes(1)
    assert "Needs work at try 2" in group.phone.open(one).words()
    undone = group.phone.open(one).send("undo_skills", why="tapped twice")
    assert "Needs work at try 1" in undone.words() and "tapped twice" in undone.words()
    marks = [row for row in rows_of(ready, SkillRow) if row.group_id == group.group_id]
    assert len(marks) == 2 * len(SKILLS) + 2 and {row.by for row in marks} == {GUIDE}
    again = group.phone.open(one).send("sign_guest_skills", mask_clear="shown")
    assert "2 of 2 guests" in again.words() and "skills_required_set" not in again.rules()
    # The earlier mark stays to be read.
    last = [row.outcome for row in rows_of(ready, SkillRow) if row.skill == "mask_clear"]
    assert last[-5:] == ["needs-work", "shown", "needs-work", "needs-work", "shown"]


def test_start_pressures_are_read_never_filled_in(ready: Ready) -> None:
    with ready.world.act() as act:
        outs = act.session.exec(select(CylinderOutRow)).all()
        for out in outs:
            act.edit(out, None, {"back_at": act.now, "back_by": "a test"}, {})
        for out in outs:
            given = {"cylinder_id": out.cylinder_id, "member_id": out.member_id, "given_by": "a test"}
            act.add(CylinderOutRow(given_at=act.now, **given))
    with ready.world.act() as act:
        spare = act.session.exec(select(CylinderOutRow).where(CylinderOutRow.id == 6)).one()
        act.edit(spare, None, {"back_at": act.now, "back_by": "a test"}, {})
    page = ready.page()
    assert "Bo has no cylinder" in page.words()
    number = ready.members["Ann"]
    low = page.send("read_pressures", **{f"bar_{number}": "0"})
    assert low.status == 422 and "Start pressure must be between 1 and 300 bar." in low.words()
    for typed, sentence in (
        ("301", "Ann's pressure must be between 0 and 300 bar."),
        ("-5", "Ann's pressure must be between 0 and 300 bar."),
        ("full", "Write Ann's pressure as a number in bar, for example 150 bar."),
        ("20 MPa", "Write Ann's pressure as a number in bar"),
    ):
        bad = page.send("read_pressures", **{f"bar_{number}": typed})
        assert bad.status == 422 and sentence in bad.words(), bad.words()
        assert bad.find("input", name=f"bar_{number}")[0].get("value") == typed
    nothing = page.send("read_pressures", **{f"bar_{n}": "" for n in ready.members.values() if n != 3})
    assert nothing.status == 422 and "No pressure was typed" in nothing.words()
    done = page.send("read_pressures", **{f"bar_{number}": "140 bar"})
    assert done.status == 200 and "Ann: Unusual. Check the gauge." in done.words()
    start = diver(ready, "Ann").start
    assert start is not None and start.bar == 140 and start.unusual and start.by == GUIDE
    assert "start_pressure_min" in done.rules()


def test_a_suggested_pressure_is_not_sent_by_itself(ready: Ready) -> None:
    group = fresh_group(ready.world)
    from tests.groups_world import give_cylinders

    give_cylinders(ready.world, group.group_id)
    page = group.page()
    assert page.words().count("Not read yet. Last known: 200 bar.") == 3
    sent = dict(page.form_fields("read_pressures")[1])
    assert {value for name, value in sent.items() if name.startswith("bar_")} == {""}


def test_after_going_in_the_preparation_stays_as_it_was(ready: Ready) -> None:
    page, check = ready.page(), ready.page(f"/kit-check/{ready.members['Ann']}")
    ready.go_in()
    late = page.send("answer_briefing", abort="not yet")
    assert late.status == 422 and "entry_still_open" in late.rules()
    kit = check.send("check_kit", air_on="closed")
    assert kit.status == 422
    shown = ready.page().words()
    assert "Went in at 09:01" in shown and "Roll call in" in shown


def test_head_counts_are_numbers_and_are_kept_as_typed(ready: Ready) -> None:
    ready.go_in()
    for typed, sentence in (
        ("", "Enter the number of people."),
        ("two", "Write the number of people as a number"),
        ("2.5", "The number of people must be a whole number."),
        ("-1", "The number of people must be between 0 and 99."),
    ):
        bad = ready.page("/back").send("count_heads", counted=typed)
        assert bad.status == 422 and sentence in bad.words()
        assert bad.find("input", name="counted")[0].get("value") == typed


def test_words_of_an_emergency_are_kept_without_hidden_characters(ready: Ready) -> None:
    ready.go_in()
    page = ready.page("/back").send("call_off", why="\u202eStorm\u0007 Ü 🌩 <b>")
    assert page.status == 200 and ready.group().aborted_why == "Storm Ü 🌩 <b>"
    assert "<b>" not in re.sub(r"<bdi>.*?</bdi>", "", page.text, flags=re.S)
    assert "&lt;b&gt;" in page.text


def test_late_groups_are_shown_and_the_way_to_help_is_open(ready: Ready) -> None:
    ready.go_in()
    due = ready.group().due_at
    assert due is not None
    ready.world.clock.at = due
    ready.world.clock.pass_minutes(6)
    desk = ready.world.browser("Dora Desk")
    late = ready.page("/back", desk)
    assert "Late" in late.words() and "Overdue" not in late.words()
    assert "6 min late" in desk.open("/today/water").words()
    ready.world.clock.pass_minutes(5)
    emergency = ready.page("/back", desk)
    assert "Overdue" in emergency.words() and 'href="tel:112"' in emergency.text
    assert "start the missing-person procedure" in desk.open("/today/water").words()
