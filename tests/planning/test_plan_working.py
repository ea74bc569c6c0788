"""The working of a plan: every line whole, and its figure the plan's own."""

from dataclasses import replace

import pytest

from app.planning.group_plan import plan_group
from app.planning.plan_parts import GroupPlan
from tests.planning.test_group_plan import GUIDE, case, guest


def figure(plan: GroupPlan, what: str, who: str) -> float:
    """Return the figure of one line."""
    (value,) = [step.value for step in plan.working if (step.what, step.who) == (what, who)]
    return value


def test_every_line_says_what_how_numbers_margin_and_source() -> None:
    plan = plan_group(case(GUIDE, replace(guest(), light_rate_l_min=14)))
    for step in plan.working:
        assert step.what and step.how and step.unit and step.source and step.formula and step.margin, step
        assert any(letter.isdigit() for letter in step.how) or step.what == "Turn pressure", step
    assert {step.who for step in plan.working} == {"", "Bram", "Ada"}


def test_the_figures_of_the_working_are_those_of_the_plan() -> None:
    plan = plan_group(case(GUIDE, replace(guest(), light_rate_l_min=14)))
    ada = plan.divers[1]
    assert figure(plan, "Start at water temperature", "Ada") == ada.start_gauge_bar
    assert figure(plan, "End, cautious", "Ada") == ada.end_gauge_bar
    assert figure(plan, "End, expected", "Ada") == ada.expected_end_gauge_bar
    assert figure(plan, "End, light", "Ada") == ada.light_end_gauge_bar
    assert figure(plan, "Minutes to the turn", "Ada") == ada.minutes_to_turn
    assert figure(plan, "Reserve in force", "Ada") == ada.reserve_in_force_bar
    assert figure(plan, "Whole dive", "") == pytest.approx(plan.run_min)
    assert figure(plan, "Pressure at depth", "") == pytest.approx(1.01325 + 1025.5 * 9.80665 * 8 / 1e5)
    assert not [step for step in plan.working if (step.what, step.who) == ("End, light", "Bram")]
