"""Nobody goes in who should not: each thing asked before the water, broken alone, keeps all ashore."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from sqlmodel import select

from app.actions.water_side.emergency_kit import KitAnswers, check_emergency_kit
from app.records.tables.base import Row
from app.records.tables.cylinders import CylinderRow, QuarantineRow
from app.records.tables.days import DayRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.health import HealthFormRow, TalkRow
from app.records.tables.house import LimitRow, ShopRow
from app.records.tables.parties import GuestRow, PartyRow
from app.records.tables.people import PersonRow
from app.records.tables.water import BriefingRow, PressureRow, SkillRow
from app.rules.emergency_kit import KEYS
from tests.groups_world import book, group_of, look_at_water, person_id, water_event
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, Page

YESTERDAY = DAY - timedelta(days=1)
Break = Callable[[Ready], Any]


def change(ready: Ready, kind: type[Row], row_id: int | None, **values: Any) -> None:
    """Change columns of a row, as somebody elsewhere would."""
    with ready.world.act() as act:
        act.edit(act.get(kind, row_id), None, values, {})


def write(ready: Ready, row: Row) -> None:
    """Store a row."""
    with ready.world.act() as act:
        act.add(row)


def by_guide(ready: Ready, **more: Any) -> dict[str, Any]:
    """Return the columns that say who wrote a row and when."""
    return {"by_id": person_id(ready.world, GUIDE), "by": GUIDE, "at": ready.world.clock(), **more}


def talk(ready: Ready) -> None:
    """Somebody stops Ann."""
    said = {"guest_ref": "ref-Ann", "day": DAY, "decision": "ashore"}
    write(ready, TalkRow(**by_guide(ready, **said)))


def form(ready: Ready, **values: Any) -> None:
    """Change Ann's health form."""
    with ready.world.house.store.reading() as session:
        row = session.exec(select(HealthFormRow).where(HealthFormRow.guest_ref == "ref-Ann")).one()
    change(ready, HealthFormRow, row.id, **values)


def skill(ready: Ready, outcome: str) -> None:
    """Mark a skill of Bo."""
    said = {"guest_id": ready.guests["Bo"], "group_id": 1, "skill": "mask_clear", "outcome": outcome}
    write(ready, SkillRow(**by_guide(ready, **said)))


def answer(ready: Ready, item: str, said: str, about: str = "") -> None:
    """Answer an item of the briefing or of a kit check."""
    write(ready, BriefingRow(**by_guide(ready, group_id=1, item=item, answer=said, about=about)))


def start(ready: Ready, name: str, bar: float) -> None:
    """Read a start pressure."""
    number = ready.members[name]
    row = {"member_id": number, "cylinder_id": out_of(ready, name).cylinder_id, "moment": "start"}
    write(ready, PressureRow(bar=bar, read_value=bar, by=GUIDE, at=ready.world.clock(), **row))


def out_of(ready: Ready, name: str) -> CylinderOutRow:
    """Return the cylinder that somebody has."""
    with ready.world.house.store.reading() as session:
        asked = select(CylinderOutRow).where(CylinderOutRow.member_id == ready.members[name])
        return session.exec(asked).one()


def another_cylinder(ready: Ready) -> None:
    """Ann gets another cylinder, and nobody reads its gauge."""
    change(ready, CylinderOutRow, out_of(ready, "Ann").id, back_at=ready.world.clock(), back_by="a test")
    with ready.world.act() as act:
        bought = {"last_visual": DAY, "last_pressure_test": DAY}
        row = act.add(CylinderRow(number="spare", litres=12, working_pressure_bar=232, **bought))
        given = {"cylinder_id": row.id, "member_id": ready.members["Ann"], "given_by": "a test"}
        act.add(CylinderOutRow(given_at=act.now, **given))


def third_guest(ready: Ready) -> None:
    """One guest too many joins the group."""
    (cy,) = book(ready.world, "Cy")
    joined = {"joined_at": ready.world.clock(), "joined_by": "a test"}
    write(ready, MemberRow(group_id=1, part="guest", guest_id=cy, **joined))
    ready.members["Cy"] = 4


def kit_check(ready: Ready, oxygen_bar: float = 150, lacks: str = "") -> None:
    """Look at the emergency kit once more."""
    with ready.world.act() as act:
        act.actor = type(act.actor)(GUIDE, frozenset(), person_id(ready.world, GUIDE))
        check_emergency_kit(act, KitAnswers([key for key in KEYS if key != lacks], oxygen_bar, 5))


def limit(ready: Ready, key: str, value: float) -> None:
    """The manager tightens a limit."""
    now = ready.world.clock()
    write(ready, LimitRow(limit_key=key, value=value, set_at=now, set_by="Mona Manager", reason="a test"))


def person(ready: Ready, **values: Any) -> None:
    """Change the guide's papers."""
    change(ready, PersonRow, person_id(ready.world, GUIDE), **values)


def at_once(ready: Ready, event: str = "") -> None:
    """The guide is in another group at the same time, perhaps in the water."""
    (cy,) = book(ready.world, "Cy")
    other = group_of(ready.world, [cy], name="B")
    if event:
        with ready.world.house.store.reading() as session:
            asked = select(MemberRow).where(MemberRow.group_id == other, MemberRow.part == "guide")
            member = session.exec(asked).one()
        water_event(ready.world, other, member.id or 0, event)


BREAKS: dict[str, tuple[Break, str]] = {
    "stopped by a named person": (talk, "screening_any_flag_blocks"),
    "history not signed": (lambda r: form(r, history_signed_at=None), "screening_any_flag_blocks"),
    "today not signed": (lambda r: form(r, today_signed_for=YESTERDAY), "health_today_signed"),
    "history signed long ago": (
        lambda r: form(r, history_signed_at=r.world.clock() - timedelta(days=40)),
        "declaration_valid_for",
    ),
    "a minor without a guardian": (
        lambda r: change(r, GuestRow, r.guests["Ann"], birth_date=DAY - timedelta(days=365 * 16)),
        "guardian_consent",
    ),
    "a skill not good enough": (lambda r: skill(r, "needs-work"), "skills_required_set"),
    "a skill refused": (lambda r: skill(r, "refused"), "skills_required_set"),
    "briefing not whole": (lambda r: answer(r, "abort", "not yet"), "briefing_complete"),
    "a figure said wrongly": (lambda r: answer(r, "turn", "70"), "turn_pressure"),
    "kit not in order": (
        lambda r: answer(r, "air_on", "closed", f"guest-{r.guests['Bo']}"),
        "kit_check_complete",
    ),
    "water not fit": (lambda r: look_at_water(r.world, grade="no-go"), "conditions_graded"),
    "water worse than the ratio": (lambda r: look_at_water(r.world, grade="poor"), "ratio_open_water_poor"),
    "depth changed after the plan": (lambda r: change(r, GroupRow, 1, depth_m=9.0), "plan_current"),
    "a limit tightened after the plan": (lambda r: limit(r, "turn_pressure", 120), "plan_current"),
    "plan deeper than a limit set since": (
        lambda r: limit(r, "depth_plan_default", 7),
        "depth_plan_default",
    ),
    "plan longer than a limit set since": (lambda r: limit(r, "bottom_time_max", 15), "bottom_time_max"),
    "cylinder back in the gas room": (
        lambda r: change(r, CylinderOutRow, out_of(r, "Bo").id, back_at=r.world.clock(), back_by="x"),
        "cylinder_given",
    ),
    "cylinder not read": (another_cylinder, "pressure_read"),
    "start pressure too low": (lambda r: start(r, "Ann", 179), "start_pressure_min"),
    "cylinder over its stamp": (lambda r: start(r, "Ann", 240), "cylinder_not_above_stamp"),
    "cylinder set aside": (
        lambda r: write(
            r, QuarantineRow(cylinder_id=out_of(r, "Ann").cylinder_id, why="x", at=r.world.clock(), by="x")
        ),
        "cylinder_not_quarantined",
    ),
    "cylinder out of test": (
        lambda r: change(r, CylinderRow, out_of(r, "Ann").cylinder_id, last_visual=DAY - timedelta(days=400)),
        "cylinder_in_test",
    ),
    "emergency kit lacks something": (
        lambda r: kit_check(r, lacks="defibrillator"),
        "emergency_kit_complete",
    ),
    "too little oxygen": (lambda r: kit_check(r, oxygen_bar=40), "oxygen_min"),
    "no number to call": (lambda r: change(r, ShopRow, 1, phone_ambulance=""), "emergency_contacts"),
    "no surface watch": (
        lambda r: change(r, GroupRow, 1, surface_watch_id=None),
        "surface_watch_required",
    ),
    "one guest too many": (third_guest, "ratio_open_water_good"),
    "teaching papers out of date": (
        lambda r: person(r, credential_until=YESTERDAY),
        "instructor_credential_valid",
    ),
    "first aid out of date": (lambda r: person(r, first_aid_until=YESTERDAY), "cpr_o2_valid"),
    "medical not on file": (lambda r: person(r, diver_medical_until=None), "diver_medical_valid"),
    "grade not enough": (lambda r: person(r, grade="level 1"), "instructor_grade"),
    "guide left the shop": (lambda r: person(r, grade=""), "instructor_grade"),
    "guide in two groups": (at_once, "no_overlap"),
    "guide in the water elsewhere": (lambda r: at_once(r, "in"), "no_overlap"),
    "booking cancelled": (lambda r: change(r, PartyRow, 1, state="cancelled"), "guest_booked"),
    "dive called off": (
        lambda r: change(r, GroupRow, 1, aborted_at=r.world.clock(), aborted_by=GUIDE, aborted_why="x"),
        "abort_is_final",
    ),
    "went in before": (lambda r: change(r, GroupRow, 1, entered_at=r.world.clock()), "entry_still_open"),
    "day signed off": (
        lambda r: write(r, DayRow(day=DAY, closed_at=r.world.clock(), closed_by="Mona Manager")),
        "dive_closed",
    ),
}


@pytest.mark.parametrize("what", BREAKS)
def test_one_thing_out_of_order_keeps_everybody_ashore(ready: Ready, what: str) -> None:
    before = ready.page("/out")
    assert not {reason.get("data-rule") for reason in refused(before)}
    break_it, rule = BREAKS[what]
    break_it(ready)
    # The page was opened before: what counts is what is so at the moment of going in.
    sent = ready.go_in(before)
    assert sent.status == 422, sent.words()
    assert rule in sent.rules(), sent.words()
    assert ready.events() == [] and ready.in_water() <= {GUIDE}
    if what != "went in before":
        assert ready.group().entered_at is None


def refused(page: Page) -> list[Any]:
    """Return the reasons that refuse, on the page before anything is sent."""
    blocks = [e for e in page.find("section") if e.get("class") == "needs"]
    return [reason for block in blocks for reason in block.iter("li")]


def test_with_everything_in_order_the_group_goes_in(ready: Ready) -> None:
    page = ready.go_in()
    assert page.status == 200 and page.url.split("?")[0].endswith("/water/1/back")
    assert ready.in_water() == set(ready.members)
    assert page.people() == {str(number): "in" for number in ready.members.values()}
    assert ready.group().due_at is not None


def test_tomorrow_the_group_of_today_does_not_go_in(ready: Ready) -> None:
    ready.world.clock.pass_minutes(24 * 60)
    ready.phone = ready.world.browser(GUIDE)
    sent = ready.go_in()
    assert sent.status == 422 and sent.rules() == {"entry_still_open"}
    assert ready.in_water() == set()


def test_a_group_made_anew_has_everything_before_it(ready: Ready) -> None:
    """Moving the same people to another group takes no answer along."""
    with ready.world.act() as act:
        for number in ready.members.values():
            act.edit(act.get(MemberRow, number), None, {"left_at": act.now, "left_by": "a test"}, {})
    anew = group_of(ready.world, list(ready.guests.values()), name="B")
    page = ready.phone.open(f"/water/{anew}/out")
    people = page.people()
    sent = page.send("go_in", heads="3", **{f"member_{number}": "in" for number in people})
    asked = {
        "plan_issued", "cylinder_given", "briefing_complete", "kit_check_complete", "pressure_read",
        "surface_watch_required",
    }  # fmt: skip
    assert sent.status == 422 and asked <= sent.rules() and ready.in_water() == set()


def test_who_stays_ashore_is_not_asked_and_not_in(ready: Ready) -> None:
    skill(ready, "refused")
    assert "skills_required_set" in ready.go_in().rules()
    done = ready.go_in(stays=("Bo",))
    assert done.status == 200 and ready.in_water() == {GUIDE, "Ann"}
    assert done.people()[str(ready.members["Bo"])] == "never-entered"


def test_guests_never_go_in_without_their_guide(ready: Ready) -> None:
    sent = ready.go_in(stays=(GUIDE,))
    assert sent.status == 422 and "guide_required" in sent.rules() and ready.in_water() == set()
    alone = ready.go_in(stays=("Ann", "Bo"))
    assert alone.status == 422 and "guests_in_group" in alone.rules() and ready.in_water() == set()


def test_everybody_is_marked_by_name_and_the_heads_are_counted(ready: Ready) -> None:
    page = ready.page("/out")
    names = dict(page.form_fields("go_in")[1])
    assert names["heads"] == "" and not [name for name in names if name.startswith("member_")]
    unmarked = ready.go_in(page, **{f"member_{ready.members['Bo']}": ""})
    assert unmarked.status == 422 and "Choose in or stays ashore for Bo." in unmarked.words()
    for heads, sentence in (
        ("2", "3 are marked as going in, 2 were counted. Count again."),
        ("", "Enter the head count."),
        ("three", "Write the head count as a number"),
        ("3.5", "The head count must be a whole number."),
    ):
        bad = ready.go_in(page, heads=heads)
        assert bad.status == 422 and sentence in bad.words()
        assert bad.find("input", name="heads")[0].get("value") == heads
        assert len([e for e in bad.find("input") if "checked" in e.attrib]) == 3, "the marks are kept"
    none = ready.go_in(page, stays=tuple(ready.members))
    assert none.status == 422 and "Mark at least the guide and one guest" in none.words()
    assert ready.in_water() == set() and ready.events() == []


def test_the_time_in_is_told_within_two_hours(ready: Ready) -> None:
    page = ready.page("/out")
    for time, sentence in (("25:00", "hours and minutes"), ("06:30", "within the last two hours")):
        bad = ready.go_in(page, time=time)
        assert bad.status == 422 and sentence in bad.words()
        assert bad.find("input", name="time")[0].get("value") == time
    ready.world.clock.pass_minutes(9)
    done = ready.go_in(page, time="09:04")
    assert done.status == 200 and "In since 09:00" not in done.words()
    # Lisbon is one hour ahead of UTC in July.
    assert {(one.happened_at.hour, one.happened_at.minute) for one in ready.events()} == {(8, 4)}


def test_a_double_send_enters_once(ready: Ready) -> None:
    page = ready.page("/out")
    to, pairs = page.form_fields("go_in")
    typed = {**dict(pairs), "heads": "3", **{f"member_{n}": "in" for n in ready.members.values()}}
    assert ready.phone.post(to, typed).status == 200
    assert ready.phone.post(to, typed).status == 200
    assert len(ready.events()) == 3
    again = ready.go_in(page, heads="3", key="z" * 32)
    assert again.status == 422 and "entry_still_open" in again.rules() and len(ready.events()) == 3
