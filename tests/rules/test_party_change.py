"""Nobody who went in the water vanishes by editing."""

import pytest

from app.rules.party_change import day_is_open, may_leave_booking, stands_booked


@pytest.mark.parametrize(
    ("event", "group_is_out", "allowed"),
    [
        ("", False, True),
        ("", True, False),
        ("never-entered", True, True),
        ("never-entered", False, True),
        ("in", False, False),
        ("in", True, False),
        ("back", True, False),
        ("back", False, False),
        ("anything else", False, False),
    ],
)
def test_only_who_did_not_go_in_may_leave(event: str, group_is_out: bool, allowed: bool) -> None:
    decision = may_leave_booking("Ann", event, group_is_out=group_is_out)
    assert decision.allowed is allowed
    assert all(reason.who == "Ann" and reason.rule == "roll_call_by_name" for reason in decision.reasons)


def test_a_signed_off_day_and_an_ended_booking_refuse() -> None:
    assert day_is_open(False).allowed and not day_is_open(True).allowed
    assert stands_booked("booked").allowed
    for state in ("cancelled", "no-show", ""):
        assert not stands_booked(state).allowed
