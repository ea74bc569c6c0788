"""No-stop time of one diver of a group: ZH-L16C and the navy table side by side, and which one speaks."""

from app.planning import navy_table, nitrogen
from app.planning.dive_day import table_dives
from app.planning.plan_parts import DiverNitrogen, GroupCase, GroupDiver


def nitrogen_of(case: GroupCase, diver: GroupDiver) -> DiverNitrogen:
    """Return the no-stop time of one diver, earlier dives counted in."""
    sea, earlier = case.sea, diver.earlier_dives
    tissues = nitrogen.carried(
        ((one.waypoints, one.surface_interval_min) for one in earlier), sea.density_kg_m3, sea.surface_bar
    )
    down_min = case.depth_m / case.descent_m_min
    left = nitrogen.no_stop_from_surface(
        tissues, sea.pressure(case.depth_m), down_min, sea.surface_bar, case.gradient_factor
    )
    total = left.minutes
    interval = earlier[-1].surface_interval_min if earlier else 0.0
    navy = navy_table.bottom_time_left(table_dives(earlier), case.depth_m, interval)
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
