"""Every record of the water side is put right in place: the old value, the name and the reason stay."""

from collections.abc import Callable

from app.records.tables.days import DayRow
from app.records.tables.house import TrailRow
from app.records.tables.parties import ConditionsRow
from app.records.tables.water import BriefingRow, CountRow, PressureRow, SkillRow, WaterEventRow
from app.rules.briefing import KIT_CHECK, SAID_IN
from tests.groups_world import person_id
from tests.water_world import chosen, rows_of
from tests.web_ready import GUIDE, Ready, plan_again
from tests.web_world import START

WHY = "wrong line"
MOMENTS = ("start", "during", "end")


def briefing(ready: Ready) -> None:
    """An answer taken back: the one before counts again, with the language it was said in."""
    ready.page().send("answer_briefing", abort="not yet", language="de", interpreter="other")
    assert "briefing_complete" in ready.page().rules()
    long = ready.page().send("undo_briefing", why="x" * 101)
    assert long.status == 422 and "Shorten why it is taken back" in long.words() and "x" * 101 in long.text
    assert chosen(ready.page(), "abort") == ["not yet"], "nothing is taken back for a reason that was lost"
    ready.page().send("undo_briefing", why=WHY)
    assert chosen(ready.page(), "abort") == ["agreed"] and "briefing_complete" not in ready.page().rules()
    rows = [row for row in rows_of(ready, BriefingRow) if row.item in ("abort", SAID_IN)]
    told = [(row.item, row.answer, row.language, row.correction) for row in rows]
    assert told[-4:] == [
        ("abort", "not yet", "de", ""), (SAID_IN, "de", "de", ""),
        ("abort", "agreed", "", WHY), (SAID_IN, "", "", WHY),
    ]  # fmt: skip


def language_alone(ready: Ready) -> None:
    """The language is kept although no answer changes, once, and who interpreted."""
    before = len(rows_of(ready, BriefingRow))
    ann = f"guest-{ready.guests['Ann']}"
    for _ in range(2):
        ready.page().send("answer_briefing", language="fr", interpreter=ann)
    (row,) = rows_of(ready, BriefingRow)[before:]
    assert (row.item, row.language, row.interpreter, row.by) == (SAID_IN, "fr", ann, GUIDE)
    assert [e.get("value") for e in ready.page().root.iter("option") if "selected" in e.attrib][:2] == [
        "fr",
        ann,
    ]


def kit_check(ready: Ready) -> None:
    """A kit check taken back; the second pair of eyes looked after it, and counts as before."""
    at = f"/kit-check/{ready.members['Ann']}"
    ready.page(at).send("check_kit", gauge_steady="drops", second="")
    assert "kit_check_complete" in ready.page().rules()
    undone = ready.page(at).send("undo_kit_check", why=WHY)
    assert chosen(undone, "gauge_steady") == ["steady"] and WHY in undone.words()
    assert "kit_check_complete" in ready.page().rules(), "nobody looked as second since"
    lena = f"staff-{person_id(ready.world, 'Lena Lead')}"
    ready.page().send("second_look", second=lena)
    assert "kit_check_complete" not in ready.page().rules()
    mine = [row for row in rows_of(ready, BriefingRow) if row.about == f"guest-{ready.guests['Ann']}"]
    assert len({row.item for row in mine}) == len(KIT_CHECK) + 1 and mine[-2].correction == WHY


def skill(ready: Ready) -> None:
    """A skill taken back."""
    at = f"/skills/{ready.guests['Bo']}"
    ready.page(at).send("sign_guest_skills", equalise="refused")
    assert "skills_required_set" in ready.page().rules()
    ready.page(at).send("undo_skills", why=WHY)
    assert "skills_required_set" not in ready.page().rules()
    assert [(row.outcome, row.correction) for row in rows_of(ready, SkillRow)][-2:] == [
        ("refused", ""), ("shown", WHY),
    ]  # fmt: skip


def look(ready: Ready) -> None:
    """The look on shore: looked at again."""
    at = f"/look/{ready.guests['Bo']}"
    ready.page(at).send("look_on_shore", result="ashore", wrong=["calm"])
    assert "shore_look" in ready.page().rules()
    ready.page(at).send("look_on_shore", result="well")
    assert "shore_look" not in ready.page().rules()


def conditions(ready: Ready) -> None:
    """Conditions: looked at again, the newest counts, both stay."""
    lead = ready.world.browser("Lena Lead")
    for grade in ("no-go", "good"):
        seen = {"visibility_m": "10", "current_m_s": "0.1", "sea": "calm", "wind": "light"}
        lead.open("/groups/slots/1").send("look_at_water", grade=grade, **seen)
    assert [row.grade for row in rows_of(ready, ConditionsRow)][-2:] == ["no-go", "good"]


BEFORE: tuple[Callable[[Ready], None], ...] = (briefing, language_alone, kit_check, skill, look, conditions)


def test_what_is_kept_before_the_water_is_put_right_in_place(ready: Ready) -> None:
    for record in BEFORE:
        ready.world.clock.pass_minutes(1)
        record(ready)
    # Another look at the water asks for another look at the plan.
    plan_again(ready.world, ready.group_id)
    assert ready.go_in().status == 200


def test_what_is_kept_at_and_after_the_water_is_put_right_until_the_day_is_closed(ready: Ready) -> None:
    assert ready.go_in().status == 200
    ann = ready.members["Ann"]
    ready.world.clock.pass_minutes(9)
    ready.page("/back").send("read_pressures", moment="during", **{f"bar_{ann}": "150"})
    ready.world.clock.pass_minutes(9)
    ready.back("Ann")
    ready.page("/back").send("still_in", ready.at(f"/still-in/{ann}"), why=WHY)
    for name in ready.members:
        ready.back(name)
    ready.count(2)
    ready.count(len(ready.members), ready.world.browser("Dora Desk"))
    ready.end_pressures()
    ready.write_dive()
    forms = (
        *((f"/pressures/{ann}/{one}", "put_pressure_right", {"bar": "90"}) for one in MOMENTS),
        (f"/times/{ann}", "put_times_right", {"went": "09:01", "back": "09:17"}),
    )
    for to, action, typed in forms:
        done = ready.page("/wrap").send(action, ready.at(to), why=WHY, **typed)
        assert done.status == 200, (to, done.words())
    events = [(row.event, row.flag) for row in rows_of(ready, WaterEventRow) if row.member_id == ann]
    assert ("in", f"put right: {WHY}") in events and ("back", f"time put right: {WHY}") in events
    read = [
        (row.moment, row.bar, row.correction) for row in rows_of(ready, PressureRow) if row.member_id == ann
    ]
    for moment in MOMENTS:
        told = [(bar, why) for kind, bar, why in read if kind == moment]
        assert told[-1] == (90, WHY) and told[0][0] > 90
    assert [row.counted for row in rows_of(ready, CountRow) if row.method == "heads"][-2:] == [2, 3]
    assert ready.close().status == 200
    ready.page("/wrap").send(
        "write_dive", depth="8", ascent="slower", stop="yes", anything="nothing", why=WHY
    )
    assert ready.group().greatest_depth_m == 8
    assert WHY in {row.reason for row in rows_of(ready, TrailRow)}
    skills, wrap = ready.page(f"/skills/{ready.guests['Ann']}"), ready.page("/wrap")
    with ready.world.act() as act:
        act.add(DayRow(day=START.date(), closed_at=act.now, closed_by="Mona Manager"))
    for to, action, typed in forms:
        late = wrap.send(action, ready.at(to), why=WHY, **typed)
        assert late.status == 422 and "dive_closed" in late.rules(), to
    late = skills.send("sign_guest_skills", equalise="refused")
    assert late.status == 422 and "Write down what was wrong as an incident" in late.words()
    assert [row for row in rows_of(ready, SkillRow) if row.outcome == "refused"] == []
