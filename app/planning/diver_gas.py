"""Gas of one diver of a group: what is used, what is left, and how late the way up may begin.

Planned on the cautious rate, with the expected and the light rate beside it: nine of ten end between the
cautious and the light end. Every limit is handed in; figures keep full precision.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import ceil

from app.planning import consumption, cylinder, profile, sharing
from app.planning.air import REFERENCE_DENSITY_G_L
from app.planning.breathing import SETTLE_MIN, settling_factor
from app.planning.consumption import Cylinder, Sea
from app.planning.plan_parts import DiverGas, GroupCase, GroupDiver
from app.planning.profile import Segment

# Where the higher rate of the first minutes is cut into steps, in minutes.
SETTLING_CUTS = (2.0, 4.0, SETTLE_MIN, 10.0, 14.0, 21.0)
# After as many minutes more the first ones' higher rate has worn off to a hundredth.
SETTLED_AFTER_MIN = 30.0
# The search for the latest ascent: how far, how many steps at most, and to which part of a minute.
LONGEST_SEARCH_MIN = 600.0
SEARCH_STEPS = 60
SEARCH_TO_MIN = 1e-6


def gas_of(case: GroupCase, diver: GroupDiver, sharing_rate: float) -> DiverGas:
    """Return the gas of one diver; ``sharing_rate``: L/min of the one who breathes most when two share."""
    sea = case.sea
    own = own_cylinder(case, diver)
    points = waypoints_of(case, case.minutes)
    careful = rates_along(points, diver.cautious_rate_l_min)
    before = profile.cut_at(careful, case.minutes)
    staying_pieces = rates_along(_staying(case, points), diver.cautious_rate_l_min)
    share, reserve = sharing_and_reserve(case, diver, sharing_rate)

    def staying(gauge: float) -> float:
        rate = diver.cautious_rate_l_min
        return consumption.minute_at_gauge_staying(own, staying_pieces, case.depth_m, rate, gauge, sea)

    used_g = consumption.mass_g(careful, sea)
    light = diver.light_rate_l_min
    return DiverGas(
        id=diver.id,
        name=diver.name,
        litres=diver.litres,
        start_gauge_bar=own.start_gauge_bar,
        used_bar_litres=consumption.bar_litres(careful, sea),
        used_litres=used_g / REFERENCE_DENSITY_G_L,
        gauge_at_ascent_bar=consumption.gauge_after(own, consumption.mass_g(before, sea), sea),
        end_gauge_bar=consumption.gauge_after(own, used_g, sea),
        expected_end_gauge_bar=_end(own, points, diver.expected_rate_l_min, sea),
        minutes_to_turn=staying(case.turn_bar),
        minutes_to_reserve=staying(reserve),
        minutes_to_sharing=staying(share),
        minutes_to_turn_on_profile=consumption.minute_at_gauge(own, careful, case.turn_bar, sea),
        out_of_gas_min=consumption.out_of_gas_minute(own, careful, sea),
        sharing_gauge_bar=share,
        reserve_covers_sharing=case.reserve_bar >= share,
        reserve_in_force_bar=reserve,
        reserve_bound_by="end_pressure_min" if reserve == case.reserve_bar else "sharing_gas",
        latest_ascent_min=_latest_ascent(case, diver, own, reserve),
        light_end_gauge_bar=None if light is None else _end(own, points, light, sea),
    )


def waypoints_of(case: GroupCase, minutes: float) -> tuple[tuple[float, float], ...]:
    """Return the group's profile when the final ascent starts after so many minutes."""
    return profile.group_profile(
        case.depth_m, minutes, case.descent_m_min, case.ascent_m_min, case.stop_m, case.stop_min
    )


def _staying(case: GroupCase, waypoints: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Return the profile of a group that does not go up, until everybody breathes at the settled rate."""
    before = [point for point in waypoints if point[0] <= case.minutes]
    return (*before, (case.minutes + SETTLED_AFTER_MIN, case.depth_m))


def rates_along(waypoints: Sequence[tuple[float, float]], settled_l_min: float) -> tuple[Segment, ...]:
    """Return the pieces of a profile with a diver's rate, higher in the first minutes."""
    points, end_min = list(waypoints), waypoints[-1][0]
    for cut in SETTLING_CUTS:
        if cut < end_min and all(abs(cut - minute) > 1e-9 for minute, _ in points):
            points.append((cut, profile.depth_at(waypoints, cut)))
    points.sort()
    rates = [settled_l_min * settling_factor(before, after) for (before, _), (after, _) in pairwise(points)]
    return profile.segments(points, rates)


def own_cylinder(case: GroupCase, diver: GroupDiver) -> Cylinder:
    """Return the diver's cylinder at water temperature."""
    sea = case.sea
    start = cylinder.settled_gauge(diver.fill_gauge_bar, diver.fill_temp_c, sea.temp_c, sea.surface_bar)
    return Cylinder(diver.litres, start)


def sharing_and_reserve(case: GroupCase, diver: GroupDiver, sharing_rate: float) -> tuple[float, float]:
    """Return the gauge to start sharing with, and the reserve in force: the larger of rule and sharing."""
    share = sharing.sharing_gauge_bar(diver.litres, case.depth_m, sharing_rate, case.sharing, case.sea)
    rounded = ceil(share / case.reserve_rounding_bar - 1e-9) * case.reserve_rounding_bar
    return share, max(case.reserve_bar, rounded)


def end_gauge(
    case: GroupCase, diver: GroupDiver, own: Cylinder, waypoints: Sequence[tuple[float, float]]
) -> float:
    """Return the gauge in bar at the end of a profile on the diver's cautious rate."""
    return _end(own, waypoints, diver.cautious_rate_l_min, case.sea)


def _end(own: Cylinder, waypoints: Sequence[tuple[float, float]], rate_l_min: float, sea: Sea) -> float:
    return consumption.gauge_after(own, consumption.mass_g(rates_along(waypoints, rate_l_min), sea), sea)


def _latest_ascent(case: GroupCase, diver: GroupDiver, own: Cylinder, reserve: float) -> float:
    """Return the latest minute to leave the depth and still surface with the reserve (0 when none is).

    False position (Illinois): gas used grows almost evenly with the minutes. The answer is the end of the
    bracket on which the reserve still holds.
    """
    may_use_g = consumption.mass_to_gauge(own, reserve, case.sea)

    def spare_g(minutes: float) -> float:
        pieces = rates_along(waypoints_of(case, minutes), diver.cautious_rate_l_min)
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
