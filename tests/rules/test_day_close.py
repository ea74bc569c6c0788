"""The day is closed only when nothing and nobody is still out."""

from dataclasses import fields, replace

import pytest

from app.rules.day_close import DayFacts, may_close_day
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
