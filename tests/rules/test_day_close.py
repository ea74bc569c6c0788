"""The day is closed only when nothing and nobody is still out."""

from dataclasses import fields, replace

import pytest

from app.rules.day_close import DayFacts, DayWarnings, may_close_day, worth_a_look
from tests.rules_world import plain

CLEAR = DayFacts(*(() for _ in fields(DayFacts)))
RULES = {
    "not_back": "roll_call_by_name",
    "open_counts": "counts_agree",
    "open_missing": "missing_settled",
    "open_dives": "dive_closed",
    "cylinders_out": "cylinders_returned",
    "kit_out": "kit_returned",
    "unread_serious_incidents": "serious_incident_read",
    "unverified_entries": "log_entries_verified",
}


def test_a_clear_day_is_closed() -> None:
    assert may_close_day(CLEAR).allowed
    assert {field.name for field in fields(DayFacts)} == set(RULES)


@pytest.mark.parametrize(("field", "rule"), RULES.items())
def test_each_open_thing_is_a_reason_with_its_name(field: str, rule: str) -> None:
    decision = plain(may_close_day(replace(CLEAR, **{field: ("A7", "B2")})))
    assert [(reason.rule, reason.who) for reason in decision.reasons] == [(rule, "A7"), (rule, "B2")]
    assert all(reason.who in reason.text for reason in decision.reasons)


@pytest.mark.parametrize(("field", "rule"), RULES.items())
def test_what_was_not_looked_up_keeps_the_day_open(field: str, rule: str) -> None:
    assert plain(may_close_day(replace(CLEAR, **{field: None}))).rules == {rule}


def test_names_with_braces_are_shown_as_they_are() -> None:
    (reason,) = may_close_day(replace(CLEAR, kit_out=("{0}",))).reasons
    assert "Kit {0} is not back" in reason.text


QUIET = DayWarnings(*(() for _ in fields(DayWarnings)))


def test_a_quiet_day_says_nothing() -> None:
    assert worth_a_look(QUIET).notes == ()


@pytest.mark.parametrize(
    ("field", "found", "rule", "said"),
    [
        ("not_asked", ("Ann", "Bo"), "exit_check_asked", "Ann, Bo."),
        ("gas_missing", (("S01", 41.6),), "gauge_agrees_with_fill", "S01 42 L."),
        ("empty", tuple(f"S{n:02}" for n in range(1, 10)), "cylinder_empty_below", "S06 and 3 more."),
        ("wet", ("suit W1 (M)",), "kit_rinsed", "suit W1 (M)."),
        ("backups", ("No backup was ever made.",), "records_copied", "No backup was ever made."),
        ("follow_ups", ("Change {} hoses",), "incident_followed_up", "Change {} hoses."),
    ],
)
def test_what_is_worth_a_look_is_a_note_and_never_a_refusal(
    field: str, found: tuple[object, ...], rule: str, said: str
) -> None:
    decision = worth_a_look(replace(QUIET, **{field: found}))
    assert decision.allowed
    (one,) = decision.notes
    assert one.rule == rule and one.text.endswith(said)
