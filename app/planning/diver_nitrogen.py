"""No-stop time of one diver of a group: ZH-L16C and the navy table side by side, and which one speaks."""

from collections.abc import Sequence

from app.planning import navy_table, nitrogen, profile
from app.planning.diver_gas import waypoints_of
from app.planning.plan_parts import DiverNitrogen, GroupCase, GroupDiver


def nitrogen_of(case: GroupCase, diver: GroupDiver) -> DiverNitrogen:
    """Return the no-stop time of one diver, earlier dives of the day counted in."""
    sea = case.sea
    tissues = nitrogen.saturated(sea.surface_bar)
    for earlier in diver.earlier_dives:
        pieces = profile.segments(earlier.waypoints, 1.0)
        tissues = nitrogen.dive(tissues, pieces, sea.density_kg_m3, sea.surface_bar)
        tissues = nitrogen.stay(tissues, sea.surface_bar, earlier.surface_interval_min)
    whole = profile.segments(waypoints_of(case, case.minutes), 1.0)
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
