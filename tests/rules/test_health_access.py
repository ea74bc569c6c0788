"""Who may see and settle what of a guest's health check."""

import pytest

from app.rules.health_access import (
    can_be_talked,
    may_look_in_emergency,
    may_see_outcome,
    may_see_reasons,
    may_talk,
)


@pytest.mark.parametrize(
    ("role", "own", "today", "sees", "talks"),
    [
        ("desk", True, True, False, False),
        ("manager", True, True, False, False),
        ("instructor", True, True, True, True),
        ("instructor", False, True, False, False),
        ("instructor", True, False, False, False),
        ("lead", False, True, True, True),
        ("lead", False, False, False, False),
        ("keeper", False, False, True, False),
    ],
)
def test_reasons_and_talks_follow_role_group_and_day(
    role: str, own: bool, today: bool, sees: bool, talks: bool
) -> None:
    roles = frozenset({role})
    assert may_see_reasons(roles, own_group=own, is_today=today) is sees
    assert may_talk(roles, own_group=own, is_today=today) is talks


@pytest.mark.parametrize(
    "roles", ["instructor", "lead", "instructor lead", "desk", "keeper", "manager", "desk instructor"]
)
def test_who_only_leads_groups_sees_outcomes_of_today(roles: str) -> None:
    held = frozenset(roles.split())
    assert may_see_outcome(held, is_today=True)
    assert may_see_outcome(held, is_today=False) is bool(held & {"desk", "keeper", "manager"})


@pytest.mark.parametrize(("days", "may"), [(-1, False), (0, True), (1, True), (2, False)])
def test_an_emergency_look_is_open_until_the_day_after(days: int, may: bool) -> None:
    for role in ("instructor", "lead"):
        assert may_look_in_emergency(frozenset({role}), days) is may
    for role in ("desk", "keeper", "manager"):
        assert not may_look_in_emergency(frozenset({role}), days)


@pytest.mark.parametrize("outcome", ["CLEARED", "INCOMPLETE", "LETTER", "ASHORE", None, "TALK"])
def test_only_what_asks_for_a_talk_is_talked_away(outcome: str | None) -> None:
    instructor, lead = frozenset({"instructor"}), frozenset({"lead"})
    assert can_be_talked(outcome, instructor, stopped=False) is (outcome == "TALK")
    assert can_be_talked(outcome, lead, stopped=False) is (outcome == "TALK")
    assert not can_be_talked(outcome, instructor, stopped=True)
    assert can_be_talked(outcome, lead, stopped=True) is (outcome in ("TALK", "CLEARED"))
