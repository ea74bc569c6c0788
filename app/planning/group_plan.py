"""The plan of one group: gas for each diver, nitrogen, what limits the dive, and how each figure came about.

Knows no limit of any shop: turn pressure, reserve, rates and margins are handed in. Figures keep full
precision; pages round pressures and minutes to the safe side. Gas is planned on each diver's cautious
rate; the expected rate is shown beside it.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import ceil, inf

from app.planning import consumption, cylinder, navy_table, nitrogen, profile, sharing
from app.planning.air import REFERENCE_DENSITY_G_L
from app.planning.breathing import SETTLE_MIN, settling_factor
from app.planning.plan_parts import (
    DiverGas,
    DiverNitrogen,
    GroupCase,
    GroupDiver,
    GroupPlan,
    Point,
    Warn,
    WhatIf,
)
from app.planning.plan_working import working_of
from app.planning.profile import Segment

# Where the higher rate of the first minutes is cut into steps, in minutes.
SETTLING_CUTS = (2.0, 4.0, SETTLE_MIN, 10.0, 14.0, 21.0)
# The search for the latest ascent: how far, how many steps at most, and to which part of a minute.
LONGEST_SEARCH_MIN = 600.0
SEARCH_STEPS = 60
SEARCH_TO_MIN = 1e-6


def plan_group(case: GroupCase) -> GroupPlan:
    """Work out the plan of a group; raises ValueError for a case without divers or without depth."""
    if not case.divers:
        raise ValueError("a plan needs at least one diver")
    if case.depth_m <= 0 or case.minutes <= 0:
        raise ValueError("a plan needs a depth and minutes above 0")
    sharing_rate = max(diver.expected_rate_l_min for diver in case.divers)
    gas = tuple(_gas(case, diver, sharing_rate) for diver in case.divers)
    nitrogens = tuple(_nitrogen(case, diver) for diver in case.divers)
    first = min(gas, key=lambda one: (one.minutes_to_turn, one.id))
    tightest = min(gas, key=lambda one: (one.latest_ascent_min, one.id))
    tissue = min(nitrogens, key=lambda one: (_or_forever(one.binding_minutes_total), one.id))
    candidates = [
        ("planned_minutes", case.minutes, ""),
        ("reserve", tightest.latest_ascent_min, tightest.id),
    ]
    if tissue.binding_minutes_total is not None:
        candidates.append(("no_stop", tissue.binding_minutes_total, tissue.id))
    limit, latest, who = min(candidates, key=lambda one: one[1])
    waypoints = _waypoints(case, case.minutes)
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
        latest_ascent_min=min(one[1] for one in candidates),
        limit=limit,
        limit_min=latest,
        limit_who=who,
        sharing_rate_l_min=sharing_rate,
        warnings=_warnings(case, gas, nitrogens),
        working=working_of(case, gas, nitrogens, sharing_rate, waypoints),
        curve=_curve(case, gas, waypoints),
    )


def what_if(case: GroupCase, depths_m: Sequence[float], minutes: Sequence[float]) -> tuple[WhatIf, ...]:
    """Return, for each depth and number of minutes, the lowest end pressure and whether the reserve holds."""
    cells = []
    rate = max(diver.expected_rate_l_min for diver in case.divers)
    own = [(diver, _own_cylinder(case, diver)) for diver in case.divers]
    for depth in depths_m:
        here = replace(case, depth_m=depth)
        no_stop_min = min(_or_forever(_nitrogen(here, diver).binding_minutes_total) for diver in case.divers)
        for minute in minutes:
            points = _waypoints(here, minute)
            ends = [
                (_end_gauge(here, diver, cylinder_of, points), diver.id, _sharing(here, diver, rate)[1])
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


def rates_along(waypoints: Sequence[tuple[float, float]], settled_l_min: float) -> tuple[Segment, ...]:
    """Return the pieces of a profile with a diver's rate, higher in the first minutes."""
    points = list(waypoints)
    for cut in SETTLING_CUTS:
        if 0 < cut < points[-1][0] and all(abs(cut - minute) > 1e-9 for minute, _ in points):
            points.append((cut, profile.depth_at(waypoints, cut)))
    points.sort()
    rates = [settled_l_min * settling_factor(before, after) for (before, _), (after, _) in pairwise(points)]
    return profile.segments(points, rates)


def _waypoints(case: GroupCase, minutes: float) -> tuple[tuple[float, float], ...]:
    return profile.group_profile(
        case.depth_m, minutes, case.descent_m_min, case.ascent_m_min, case.stop_m, case.stop_min
    )


def _gas(case: GroupCase, diver: GroupDiver, sharing_rate: float) -> DiverGas:
    sea = case.sea
    own = _own_cylinder(case, diver)
    points = _waypoints(case, case.minutes)
    careful = rates_along(points, diver.cautious_rate_l_min)
    likely = rates_along(points, diver.expected_rate_l_min)
    before = profile.cut_at(careful, case.minutes)
    share, reserve = _sharing(case, diver, sharing_rate)

    def staying(gauge: float) -> float:
        rate = diver.cautious_rate_l_min
        return consumption.minute_at_gauge_staying(own, before, case.depth_m, rate, gauge, sea)

    used_g = consumption.mass_g(careful, sea)
    return DiverGas(
        id=diver.id,
        name=diver.name,
        litres=diver.litres,
        start_gauge_bar=own.start_gauge_bar,
        used_bar_litres=consumption.bar_litres(careful, sea),
        used_litres=used_g / REFERENCE_DENSITY_G_L,
        gauge_at_ascent_bar=consumption.gauge_after(own, consumption.mass_g(before, sea), sea),
        end_gauge_bar=consumption.gauge_after(own, used_g, sea),
        expected_end_gauge_bar=consumption.gauge_after(own, consumption.mass_g(likely, sea), sea),
        minutes_to_turn=staying(case.turn_bar),
        minutes_to_reserve=staying(reserve),
        minutes_to_turn_on_profile=consumption.minute_at_gauge(own, careful, case.turn_bar, sea),
        out_of_gas_min=consumption.out_of_gas_minute(own, careful, sea),
        sharing_gauge_bar=share,
        reserve_covers_sharing=case.reserve_bar >= share,
        reserve_in_force_bar=reserve,
        reserve_bound_by="end_pressure_min" if reserve == case.reserve_bar else "sharing_gas",
        latest_ascent_min=_latest_ascent(case, diver, own, reserve),
    )


def _own_cylinder(case: GroupCase, diver: GroupDiver) -> consumption.Cylinder:
    sea = case.sea
    start = cylinder.settled_gauge(diver.fill_gauge_bar, diver.fill_temp_c, sea.temp_c, sea.surface_bar)
    return consumption.Cylinder(diver.litres, start)


def _sharing(case: GroupCase, diver: GroupDiver, sharing_rate: float) -> tuple[float, float]:
    """Return the gauge to start sharing with, and the reserve in force: the larger of rule and sharing."""
    share = sharing.sharing_gauge_bar(diver.litres, case.depth_m, sharing_rate, case.sharing, case.sea)
    rounded = ceil(share / case.reserve_rounding_bar - 1e-9) * case.reserve_rounding_bar
    return share, max(case.reserve_bar, rounded)


def _end_gauge(
    case: GroupCase,
    diver: GroupDiver,
    own: consumption.Cylinder,
    waypoints: Sequence[tuple[float, float]],
) -> float:
    used_g = consumption.mass_g(rates_along(waypoints, diver.cautious_rate_l_min), case.sea)
    return consumption.gauge_after(own, used_g, case.sea)


def _latest_ascent(case: GroupCase, diver: GroupDiver, own: consumption.Cylinder, reserve: float) -> float:
    """Return the latest minute to leave the depth and still surface with the reserve (0 when none is).

    False position (Illinois): gas used grows almost evenly with the minutes. The answer is the end of the
    bracket on which the reserve still holds.
    """
    may_use_g = consumption.mass_to_gauge(own, reserve, case.sea)

    def spare_g(minutes: float) -> float:
        pieces = rates_along(_waypoints(case, minutes), diver.cautious_rate_l_min)
        return may_use_g - consumption.mass_g(pieces, case.sea)

    low, high = case.depth_m / case.descent_m_min, LONGEST_SEARCH_MIN
    spare_low, spare_high = spare_g(low), spare_g(high)
    if own.start_gauge_bar < reserve or spare_low < 0:
        return 0.0
    if spare_high >= 0:
        return high
    side = 0
    for _ in range(SEARCH_STEPS):
        if high - low < SEARCH_TO_MIN:
            break
        # Kept a hair inside the bracket, so that it closes from both ends.
        middle = low + (high - low) * spare_low / (spare_low - spare_high)
        middle = min(max(middle, low + SEARCH_TO_MIN / 2), high - SEARCH_TO_MIN / 2)
        spare = spare_g(middle)
        if spare >= 0:
            low, spare_low = middle, spare
            spare_high = spare_high / 2 if side > 0 else spare_high
            side = 1
        else:
            high, spare_high = middle, spare
            spare_low = spare_low / 2 if side < 0 else spare_low
            side = -1
    return low


def _or_forever(minutes: float | None) -> float:
    """Return minutes, or infinity where there is no limit. 0 minutes are a limit, the strictest there is."""
    return inf if minutes is None else minutes


def _nitrogen(case: GroupCase, diver: GroupDiver) -> DiverNitrogen:
    sea = case.sea
    tissues = nitrogen.saturated(sea.surface_bar)
    for earlier in diver.earlier_dives:
        pieces = profile.segments(earlier.waypoints, 1.0)
        tissues = nitrogen.dive(tissues, pieces, sea.density_kg_m3, sea.surface_bar)
        tissues = nitrogen.stay(tissues, sea.surface_bar, earlier.surface_interval_min)
    whole = profile.segments(_waypoints(case, case.minutes), 1.0)
    down = case.depth_m / case.descent_m_min
    at_depth = nitrogen.dive(tissues, profile.cut_at(whole, down), sea.density_kg_m3, sea.surface_bar)
    left = nitrogen.no_stop(at_depth, sea.pressure(case.depth_m), sea.surface_bar, case.gradient_factor)
    total = None if left.minutes is None else down + left.minutes
    table = tuple(
        (max(depth for _, depth in one.waypoints), _bottom_minutes(one.waypoints), one.interval_before_min)
        for one in diver.earlier_dives
    )
    interval = diver.earlier_dives[-1].surface_interval_min if diver.earlier_dives else 0.0
    navy = navy_table.bottom_time_left(table, case.depth_m, interval)
    if diver.is_guide:
        binding, speaks = total, "ZH-L16C"
    else:
        known = [
            (value, name) for value, name in ((total, "ZH-L16C"), (navy, "navy table")) if value is not None
        ]
        binding, speaks = min(known) if known else (None, "ZH-L16C")
    return DiverNitrogen(
        id=diver.id,
        name=diver.name,
        zhl_minutes_total=total,
        zhl_compartment=left.compartment,
        navy_minutes_total=navy,
        binding_minutes_total=binding,
        binding_model=speaks,
        navy_is_stricter=navy is not None and (total is None or navy < total),
        minutes_left=None if binding is None else binding - case.minutes,
    )


def _bottom_minutes(waypoints: Sequence[tuple[float, float]]) -> float:
    """Return the minutes from leaving the surface to leaving the deepest part."""
    deepest = max(depth for _, depth in waypoints)
    return max(minute for minute, depth in waypoints if depth >= deepest - 1e-9)


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
