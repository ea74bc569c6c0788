"""May a plan be issued, and is it still the plan?"""

from dataclasses import replace
from math import inf
from typing import Any

import pytest

from app.rules.plan_check import (
    PersonGas,
    PlanProposal,
    depth_in_force,
    fingerprint,
    may_issue,
    still_current,
)
from app.rules.resolve import Kind, Source, limits_for
from tests.rules_world import GENERAL, plain

GAS = PersonGas("Guest 1", 200.0, 85.0, 62.0)
PLAN = PlanProposal("open", 9.0, 30.0, 9.0, 100.0, 3.0, 5.0, inf, (GAS,))


def test_a_plan_inside_every_limit_is_issued() -> None:
    assert may_issue(PLAN, GENERAL).allowed


@pytest.mark.parametrize(
    ("changes", "rules"),
    [
        ({"depth_m": 10.1}, {"depth_plan_default"}),
        ({"depth_m": None}, {"depth_plan_default"}),
        ({"minutes": 35.1}, {"bottom_time_max"}),
        ({"minutes": None}, {"bottom_time_max"}),
        ({"ascent_m_min": 9.1}, {"ascent_rate_max"}),
        ({"ascent_m_min": None}, {"ascent_rate_max"}),
        ({"turn_bar": 99.0}, {"turn_pressure"}),
        ({"turn_bar": None}, {"turn_pressure"}),
        ({"stop_min": 2.0}, {"safety_stop_minutes"}),
        ({"stop_min": None}, {"safety_stop_minutes"}),
        ({"stop_depth_m": 3.0}, {"safety_stop_depth"}),
        ({"stop_depth_m": None}, {"safety_stop_depth"}),
        ({"no_stop_left_min": 0.5}, {"no_stop_left_min"}),
        ({"no_stop_left_min": None}, {"no_stop_left_min"}),
        ({"gas": ()}, {"sharing_gas_covered"}),
        ({"gas": (replace(GAS, end_bar=69.0),)}, {"end_pressure_min"}),
        ({"gas": (replace(GAS, end_bar=70.0),)}, set()),
        ({"gas": (replace(GAS, end_bar=None),)}, {"end_pressure_min"}),
        ({"gas": (replace(GAS, start_bar=None),)}, {"pressure_read"}),
        ({"gas": (replace(GAS, sharing_bar=None),)}, {"end_pressure_min", "sharing_gas_covered"}),
        ({"gas": (replace(GAS, sharing_bar=101.0, end_bar=120.0),)}, {"sharing_gas_covered"}),
    ],
)
def test_each_reason_alone(changes: dict[str, Any], rules: set[str]) -> None:
    assert plain(may_issue(replace(PLAN, **changes), GENERAL)).rules == rules


def test_shallow_plans_need_no_stop_and_the_pool_has_its_own_depth() -> None:
    assert may_issue(replace(PLAN, depth_m=5.9, stop_min=0.0, stop_depth_m=0.0), GENERAL).allowed
    assert not may_issue(replace(PLAN, depth_m=6.0, stop_min=0.0, stop_depth_m=0.0), GENERAL).allowed
    pool = replace(PLAN, where="confined", depth_m=4.0, stop_min=0.0, stop_depth_m=0.0)
    assert may_issue(pool, GENERAL).allowed
    assert plain(may_issue(replace(pool, depth_m=4.1), GENERAL)).rules == {"depth_max_confined"}


def test_depth_goes_to_twelve_only_when_the_shop_raises_it() -> None:
    raised = limits_for([Source(Kind.SHOP, "shop", {"depth_plan_default": 12})])
    assert may_issue(replace(PLAN, depth_m=12.0), raised).allowed
    assert not may_issue(replace(PLAN, depth_m=12.1), raised).allowed
    past = limits_for([Source(Kind.SHOP, "shop", {"depth_plan_default": 40})])
    assert depth_in_force(past, "open").value == 12


def test_everyone_is_judged_by_name() -> None:
    short = replace(GAS, name="Guest 2", end_bar=40.0)
    assert [reason.who for reason in may_issue(replace(PLAN, gas=(GAS, short)), GENERAL).reasons] == [
        "Guest 2"
    ]


def test_the_issued_plan_is_current_only_while_nothing_changed() -> None:
    assert still_current("a", "a").allowed
    assert plain(still_current(None, "a")).rules == {"plan_issued"}
    assert plain(still_current(None, None)).rules == {"plan_issued"}
    assert plain(still_current("a", None)).rules == {"plan_current"}
    assert plain(still_current("a", "b")).rules == {"plan_current"}


def test_fingerprint_does_not_mind_order_and_notices_every_change() -> None:
    inputs = {"guests": [1, 2], "depth": 9.0, "limits": GENERAL.as_record()}
    assert fingerprint(inputs) == fingerprint(dict(reversed(inputs.items())))
    assert fingerprint(inputs) != fingerprint({**inputs, "depth": 9.1})
    assert fingerprint(inputs) != fingerprint({**inputs, "guests": [2, 1]})
    with pytest.raises(TypeError):
        fingerprint({"guests": {1, 2}})
