"""The plan of one group: gas for each diver, nitrogen, what limits the dive, and how each figure came about.

Knows no limit of any shop: turn pressure, reserve, rates and margins are handed in. Figures keep full
precision; pages round pressures and minutes to the safe side. Gas is planned on each diver's cautious
rate; the expected rate is shown beside it.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from app.planning import consumption, profile
from app.planning.diver_gas import (
    end_gauge,
    gas_of,
    own_cylinder,
    rates_along,
    sharing_and_reserve,
    waypoints_of,
)
from app.planning.diver_nitrogen import nitrogen_of
from app.planning.plan_parts import (
    DiverGas,
    DiverNitrogen,
    GroupCase,
    GroupPlan,
    Point,
    Warn,
    WhatIf,
)
from app.planning.plan_working import working_of


def plan_group(case: GroupCase) -> GroupPlan:
    """Work out the plan of a group; raises ValueError for a case without divers or without depth."""
    if not case.divers:
        raise ValueError("a plan needs at least one diver")
    if case.depth_m <= 0 or case.minutes <= 0:
        raise ValueError("a plan needs a depth and minutes above 0")
    sharing_rate = max(diver.expected_rate_l_min for diver in case.divers)
    gas = tuple(gas_of(case, diver, sharing_rate) for diver in case.divers)
    nitrogens = tuple(nitrogen_of(case, diver) for diver in case.divers)
    first = min(gas, key=lambda one: (one.minutes_to_turn, one.id))
    tightest = min(gas, key=lambda one: (one.latest_ascent_min, one.id))
    tissue = min(nitrogens, key=lambda one: (_or_forever(one.binding_minutes_total), one.id))
    going_up = [
        ("planned_minutes", case.minutes, ""),
        ("no_stop", _or_forever(tissue.binding_minutes_total), tissue.id),
        ("reserve", tightest.latest_ascent_min, tightest.id),
    ]
    # Whoever stands first wins a tie: what is planned needs no warning when it comes just in time.
    ascent_limit, latest, ascent_who = min(going_up, key=_when)
    limit, limit_min, who = min((*going_up, ("turn_pressure", first.minutes_to_turn, first.id)), key=_when)
    waypoints = waypoints_of(case, case.minutes)
    return GroupPlan(
        waypoints=waypoints,
        ascent_starts_min=case.minutes,
        ascent_min=waypoints[-1][0] - case.minutes,
        run_min=waypoints[-1][0],
        divers=gas,
        nitrogen=nitrogens,
        first_to_turn=first.id,
        minutes_to_first_turn=first.minutes_to_turn,
        minutes_to_first_reserve=min(one.minutes_to_reserve for one in gas),
        latest_ascent_min=latest,
        limit=limit,
        limit_min=limit_min,
        limit_who=who,
        ascent_limit=ascent_limit,
        ascent_limit_who=ascent_who,
        sharing_rate_l_min=sharing_rate,
        warnings=_warnings(case, gas, nitrogens),
        working=working_of(case, gas, nitrogens, sharing_rate, waypoints),
        curve=_curve(case, gas, waypoints),
    )


def what_if(case: GroupCase, depths_m: Sequence[float], minutes: Sequence[float]) -> tuple[WhatIf, ...]:
    """Return, for each depth and number of minutes, the lowest end pressure and whether the reserve holds."""
    cells = []
    rate = max(diver.expected_rate_l_min for diver in case.divers)
    own = [(diver, own_cylinder(case, diver)) for diver in case.divers]
    for depth in depths_m:
        here = replace(case, depth_m=depth)
        no_stop_min = min(
            _or_forever(nitrogen_of(here, diver).binding_minutes_total) for diver in case.divers
        )
        for minute in minutes:
            points = waypoints_of(here, minute)
            ends = [
                (
                    end_gauge(here, diver, cylinder_of, points),
                    diver.id,
                    sharing_and_reserve(here, diver, rate)[1],
                )
                for diver, cylinder_of in own
            ]
            lowest_bar, lowest_id, _ = min(ends)
            cells.append(
                WhatIf(
                    depth_m=depth,
                    minutes=minute,
                    lowest_end_gauge_bar=lowest_bar,
                    lowest_id=lowest_id,
                    reserve_holds=all(end >= reserve for end, _, reserve in ends),
                    no_stop_holds=minute <= no_stop_min,
                    is_this_plan=(depth, minute) == (case.depth_m, case.minutes),
                )
            )
    return tuple(cells)


def _when(limit: tuple[str, float, str]) -> float:
    return limit[1]


def _or_forever(minutes: float | None) -> float:
    """Return minutes, or infinity where there is no limit. 0 minutes are a limit, the strictest there is."""
    return inf if minutes is None else minutes


def _warnings(
    case: GroupCase, gas: Sequence[DiverGas], nitrogens: Sequence[DiverNitrogen]
) -> tuple[Warn, ...]:
    found = []
    for one in gas:
        if one.out_of_gas_min is not None:
            found.append(Warn("out_of_gas", one.id, one.out_of_gas_min, "min"))
        if one.end_gauge_bar < one.reserve_in_force_bar:
            found.append(Warn("ends_under_reserve", one.id, one.end_gauge_bar, "bar"))
        if one.reserve_in_force_bar >= case.turn_bar:
            found.append(Warn("reserve_at_or_over_turn", one.id, one.reserve_in_force_bar, "bar"))
        if not one.reserve_covers_sharing:
            found.append(Warn("sharing_needs_more_than_rule", one.id, one.sharing_gauge_bar, "bar"))
    for tissue in nitrogens:
        if tissue.minutes_left is not None and tissue.minutes_left < 0:
            found.append(Warn("over_no_stop", tissue.id, tissue.minutes_left, "min"))
    return tuple(found)


def _curve(
    case: GroupCase, gas: Sequence[DiverGas], waypoints: Sequence[tuple[float, float]]
) -> tuple[Point, ...]:
    minutes = sorted({*(float(m) for m in range(int(waypoints[-1][0]) + 1)), *(m for m, _ in waypoints)})
    along = [
        consumption.gauges_at(
            consumption.Cylinder(one.litres, one.start_gauge_bar),
            rates_along(waypoints, diver.cautious_rate_l_min),
            minutes,
            case.sea,
        )
        for one, diver in zip(gas, case.divers, strict=True)
    ]
    return tuple(
        Point(minute, profile.depth_at(waypoints, minute), gauges)
        for minute, gauges in zip(minutes, zip(*along, strict=True), strict=True)
    )
