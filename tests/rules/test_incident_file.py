"""What is asked about an incident, what it lacks, when it may be closed, what may be said of many."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules import presets
from app.rules.incident_close import CloseFacts, may_close_incident
from app.rules.incident_file import (
    FACTS,
    PARTS,
    STEPS,
    WHOM,
    Step,
    authority_told,
    facts_in,
    oxygen_given,
    step_mistakes,
)
from app.rules.incident_rates import told
from app.rules.incidents import is_worse
from app.rules.notifying import DUTIES, deadlines, duty_of, is_asked

AT = datetime(2026, 7, 15, 8, 30, tzinfo=UTC)
DONE = CloseFacts("serious", True, "no", False, ())


def later(minutes: float) -> datetime:
    """Return a time some minutes after the incident."""
    return AT + timedelta(minutes=minutes)


def test_every_question_belongs_to_a_part_and_every_choice_may_be_unknown() -> None:
    assert sum(len(facts_in(part)) for part in PARTS) == len(FACTS)
    for key, fact in FACTS.items():
        assert fact.key == key and (fact.kind == "choice") == bool(fact.options)
    for link in ("before", "trigger", "disabled", "injury", "outcome"):
        assert FACTS[link].part == "chain" and "not known" in FACTS[link].options
        assert FACTS[f"{link}_more"].kind == "line"


def test_no_question_asks_who_was_to_blame() -> None:
    words = " ".join(
        (*(one.label + one.hint for one in FACTS.values()), *STEPS.values(), *WHOM.values(),
         *(text for one in FACTS.values() for text in one.options.values()))
    ).lower()  # fmt: skip
    for word in ("fault", "blame", "mistake", "error", "careless", "guilty", "wrong", "failed"):
        assert word not in words


@pytest.mark.parametrize(
    ("step", "lacks"),
    [
        (("called", "", "", None), {"whom"}),
        (("called", "police", "", None), set()),
        (("oxygen_on", "", "", None), {"flow_l_min"}),
        (("oxygen_on", "", "", 15.0), set()),
        (("oxygen_off", "", "", None), set()),
        (("first_aid", "", "", None), {"what"}),
        (("evacuation", "", "By road", None), set()),
    ],
)
def test_a_step_says_what_it_lacks(step: tuple[str, str, str, float | None], lacks: set[str]) -> None:
    assert set(step_mistakes(*step)) == lacks


def test_oxygen_is_counted_from_on_to_off_and_another_flow_begins_anew() -> None:
    steps = [
        Step("oxygen_off", later(40)),
        Step("oxygen_on", later(5), 15.0),
        Step("oxygen_on", later(25), 10.0),
        Step("called", later(6)),
        Step("oxygen_on", later(50), 12.0),
    ]
    times = oxygen_given(steps)
    assert [(one.flow_l_min, one.litres) for one in times] == [(15.0, 300.0), (10.0, 150.0), (12.0, None)]
    assert oxygen_given([Step("oxygen_off", AT)]) == ()


@given(st.lists(st.tuples(st.sampled_from(sorted(STEPS)), st.integers(0, 600)), max_size=12))
def test_times_with_oxygen_never_overlap(said: list[tuple[str, int]]) -> None:
    times = oxygen_given(Step(kind, later(minute), 15.0) for kind, minute in said)
    for one, following in pairwise(times):
        assert one.end is not None and one.start <= one.end <= following.start


def test_the_authority_counts_as_told_from_its_first_call() -> None:
    calls = ((9, "called", "police"), (30, "called", "authority"), (20, "called", "authority"))
    steps = [Step(kind, later(minute), None, whom) for minute, kind, whom in calls]
    steps.append(Step("done", later(1), None, "authority"))
    assert authority_told(steps) == later(20)
    assert authority_told(steps[:1]) is None


def test_an_incident_that_is_read_followed_up_and_answered_for_is_closed() -> None:
    assert may_close_incident(DONE).allowed
    assert may_close_incident(replace(DONE, notifiable="yes", authority_told=True)).allowed
    assert may_close_incident(CloseFacts("near-miss", True, "", False, ())).allowed


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"is_read": False}, "incident_followed_up"),
        ({"open_tasks": ("Change the hose",)}, "incident_followed_up"),
        ({"notifiable": ""}, "authority_answered"),
        ({"notifiable": "not sure"}, "authority_answered"),
        ({"notifiable": "yes"}, "authority_answered"),
        ({"severity": "near-miss", "notifiable": "not sure"}, "authority_answered"),
        ({"severity": "a word nobody knows", "notifiable": ""}, "authority_answered"),
    ],
)
def test_what_is_open_keeps_it_open(changes: dict[str, object], rule: str) -> None:
    assert may_close_incident(replace(DONE, **changes)).rules == {rule}  # type: ignore[arg-type]


def test_a_near_miss_asks_no_authority_until_somebody_says_so() -> None:
    assert not is_asked("near-miss", "") and not is_asked("serious", "no")
    assert is_asked("serious", "") and is_asked("minor", "yes") and is_asked("minor", "not sure")


def test_duties_are_those_of_countries_that_can_be_chosen() -> None:
    assert set(DUTIES) <= set(presets.ALL) and duty_of("general") is None and duty_of("nowhere") is None
    for duty in DUTIES.values():
        assert duty.source and duty.whom and duty.what
    queensland = DUTIES["queensland"]
    assert (queensland.first_hours, queensland.keep_place, queensland.keep_years) == (0, True, 5)
    assert (DUTIES["united_kingdom"].written_hours, DUTIES["united_kingdom"].keep_years) == (240, 3)
    assert DUTIES["france"].first_hours == 48


def test_deadlines_count_from_when_it_happened() -> None:
    (first, report) = deadlines(DUTIES["united_kingdom"], AT)
    assert first.at_once and first.due_at == AT and first.is_late(later(1))
    assert report.due_at == AT + timedelta(days=10) and not report.is_late(report.due_at)
    (only,) = deadlines(DUTIES["france"], AT)
    assert not only.at_once and only.due_at == AT + timedelta(hours=48)


@pytest.mark.parametrize(
    ("incidents", "guests", "said"), [(4, 5000, False), (5, 99, False), (5, 100, True), (0, 0, False)]
)
def test_too_few_is_said_and_nothing_is_made_of_it(incidents: int, guests: int, said: bool) -> None:
    found = told(incidents, guests)
    assert (found.rate is not None) == said and (found.incidents, found.guests) == (incidents, guests)
    if found.rate is not None:
        assert found.rate.per_hundred == 5 and found.rate.low < 5 < found.rate.high


def test_worse_is_worse() -> None:
    order = ["near-miss", "minor", "serious", "a word nobody knows"]
    for place, word in enumerate(order):
        assert [is_worse(word, other) for other in order] == [place > rank for rank in range(4)]
