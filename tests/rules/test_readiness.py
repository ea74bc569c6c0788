"""The last gate before the water: every fact in order lets a group in; any one forgotten keeps it ashore."""

from dataclasses import fields, is_dataclass, replace
from datetime import timedelta
from typing import Any

import pytest

from app.rules.conditions import Grade
from app.rules.readiness import EntryFacts, may_enter_water
from tests.rules_world import (
    ASSISTANT,
    DAY,
    GOOD_WATER,
    GUIDE,
    KIT,
    NOW,
    entry,
    group,
    guest,
    limits_of,
    minor,
    plain,
)

# A child, a guest on a second dive, guide and assistant: every kind of fact is in use.
SECOND_DIVE = guest(2, dives_today=1, last_surfaced_at=NOW - timedelta(hours=2))
TEEN = group(minor(1, 14), SECOND_DIVE, assistant=ASSISTANT, site_depth_m=20.0)
WHOLE = entry(TEEN)

# Nothing at all is a good answer to these: a person need not have a cap of their own, a guest who was
# cleared no talk, a cylinder no interval of its own, and the general preset asks for no safety diver. A look
# on shore with everything in order has nothing that stands for the day.
MAY_BE_NONE = {
    "depth_cap_m",
    "max_guests",
    "talk",
    "final",
    "ratio_cap",
    "assistant",
    "safety_diver",
    "visual_every_months",
    "pressure_test_every_months",
}
# A drill that nobody wrote down is a note.
NOTE_ONLY = {"last_drill_on"}


def _decide(facts: EntryFacts) -> Any:
    return plain(may_enter_water(facts, limits_of(facts.group), NOW))


def _paths(facts: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every way to a field that is known now, into dataclasses and tuples of them."""
    found: list[tuple[Any, ...]] = []
    for field in fields(facts):
        value = getattr(facts, field.name)
        if value is None or field.name in MAY_BE_NONE | NOTE_ONLY:
            continue
        here = (*way, field.name)
        found.append(here)
        if is_dataclass(value):
            found += _paths(value, here)
        if isinstance(value, tuple):
            for place, one in enumerate(value):
                if is_dataclass(one) and (field.name in {"guests", "divers"} or place == 0):
                    found += _paths(one, (*here, place))
    return found


def _forget(facts: Any, path: tuple[Any, ...]) -> Any:
    """The same facts with the field at the end of the path not known."""
    head, *rest = path
    if isinstance(head, int):
        return (*facts[:head], _forget(facts[head], tuple(rest)), *facts[head + 1 :])
    if not rest:
        return replace(facts, **{head: None})
    return replace(facts, **{head: _forget(getattr(facts, head), tuple(rest))})


# Words that only show, what tells one record from another, the group itself and lists, which always exist,
# and a cylinder's last reading, in whose place the start pressure read at the water is asked.
_NOT_FACTS = {
    "id", "label", "name", "number", "place", "outcome_word", "quarantine_reason", "material",
    "litres", "item", "about", "guest_id", "skill", "person_id", "day", "start", "end", "where", "guests",
    "divers",
    "answers", "marks", "gauge_bar", "group",
}  # fmt: skip
FACTS = [path for path in _paths(WHOLE) if path[-1] not in _NOT_FACTS]


def test_everything_in_order_lets_the_group_in() -> None:
    assert _decide(WHOLE).allowed
    assert _decide(entry()).allowed
    assert _decide(entry(group(guest(1), guest(2)))).allowed


def test_the_list_of_facts_is_long_enough_to_mean_something() -> None:
    assert len(FACTS) > 60
    assert ("issued_plan",) in FACTS and ("group", "guests", 0, "age") in FACTS
    assert ("divers", 3, "cylinder", "last_visual") in FACTS


@pytest.mark.parametrize("path", FACTS, ids=lambda path: ".".join(str(step) for step in path))
def test_no_fact_that_is_not_known_ever_counts_as_yes(path: tuple[Any, ...]) -> None:
    assert not _decide(_forget(WHOLE, path)).allowed


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"issued_plan": None}, "plan_issued"),
        ({"plan_now": "other"}, "plan_current"),
        ({"planned_depth_m": 10.1}, "depth_plan_default"),
        ({"planned_minutes": 36.0}, "bottom_time_max"),
        ({"surface_watch": None}, "surface_watch_required"),
        ({"surface_watch": "Ilka Toft"}, "surface_watch_required"),
        ({"in_water_now": frozenset({"g1"})}, "no_overlap"),
        ({"aborted": True}, "abort_is_final"),
        ({"already_entered": True}, "entry_still_open"),
        ({"today": DAY + timedelta(days=1)}, "entry_still_open"),
        ({"day_signed_off": True}, "dive_closed"),
        ({"emergency_kit": replace(KIT, oxygen_litres=10.0)}, "oxygen_min"),
        ({"marks": ()}, "skills_required_set"),
    ],
)
def test_each_reason_alone(changes: dict[str, Any], rule: str) -> None:
    facts = entry(group(site_depth_m=20.0), **changes)
    assert _decide(facts).rules == {rule}


@pytest.mark.parametrize(
    ("facts", "rules"),
    [
        (group(guest(1, outcome="ASHORE")), {"screening_any_flag_blocks"}),
        (
            group(guest(1, dives_today=2, last_surfaced_at=NOW - timedelta(hours=3))),
            {"dives_per_guest_per_day"},
        ),
        (
            group(guest(1, dives_today=1, last_surfaced_at=NOW - timedelta(minutes=59))),
            {"surface_interval_min"},
        ),
        (group(guest(1, dives_today=1)), {"surface_interval_min"}),
        (group(guide=replace(GUIDE, cpr_o2_until=DAY - timedelta(days=1))), {"cpr_o2_valid"}),
        (group(guest(1), guest(2), guest(3)), {"ratio_open_water_good"}),
    ],
)
def test_group_gates_are_asked_again(facts: Any, rules: set[str]) -> None:
    assert _decide(entry(facts)).rules == rules


def test_a_grade_that_falls_between_plan_and_entry_blocks_the_group() -> None:
    facts = entry(group(guest(1), guest(2)))
    assert _decide(facts).allowed
    worse = replace(facts, group=replace(facts.group, conditions=replace(GOOD_WATER, stated=Grade.POOR)))
    assert _decide(worse).rules == {"ratio_open_water_poor"}


def test_each_diver_needs_an_own_cylinder_read_and_an_own_place_on_the_list() -> None:
    facts = entry(group(site_depth_m=20.0))
    first, second = facts.divers
    assert _decide(replace(facts, divers=(first,))).rules == {"cylinder_given"}
    assert _decide(replace(facts, divers=(first, replace(second, cylinder=None)))).rules == {"cylinder_given"}
    assert "pressure_read" in _decide(replace(facts, divers=(first, replace(second, start_bar=None)))).rules
    low = _decide(replace(facts, divers=(first, replace(second, start_bar=170.0))))
    assert low.rules == {"start_pressure_min"}
    same = replace(second, cylinder=first.cylinder)
    assert "cylinder_free" in _decide(replace(facts, divers=(first, same))).rules
    stranger = replace(second, person_id="x", name="Stranger")
    assert "guests_in_group" in _decide(replace(facts, divers=(first, second, stranger))).rules


def test_kit_checks_and_skills_are_asked_of_each_person() -> None:
    facts = entry(group(guest(1), guest(2)))
    no_kit = replace(facts, answers=tuple(one for one in facts.answers if one.about != "g2"))
    assert {reason.who for reason in _decide(no_kit).reasons} == {"Guest 2"}
    no_skill = replace(facts, marks=tuple(one for one in facts.marks if one.guest_id != "g2"))
    assert {reason.who for reason in _decide(no_skill).reasons} == {"Guest 2"}


def test_pool_like_water_asks_for_no_plan_grade_or_skills_but_for_all_the_rest() -> None:
    pool = group(where="confined", site="Training pool", site_depth_m=3.0, conditions=None)
    bare = entry(pool, issued_plan=None, plan_now=None, marks=(), planned_depth_m=None, planned_minutes=None)
    assert _decide(bare).allowed
    assert not _decide(replace(bare, emergency_kit=None)).allowed
    assert not _decide(replace(bare, surface_watch=None)).allowed
    held = replace(bare, group=replace(pool, guests=(guest(1, outcome="LETTER"),)))
    assert _decide(held).rules == {"screening_any_flag_blocks"}


def test_every_reason_is_given_at_once() -> None:
    facts = replace(
        entry(group(guest(1, outcome=None, booked=None), conditions=None)),
        issued_plan=None,
        emergency_kit=None,
        surface_watch=None,
        marks=(),
        answers=(),
    )
    assert _decide(facts).rules >= {
        "screening_any_flag_blocks",
        "guest_booked",
        "conditions_graded",
        "plan_issued",
        "emergency_kit_complete",
        "surface_watch_required",
        "skills_required_set",
        "briefing_complete",
        "kit_check_complete",
    }
