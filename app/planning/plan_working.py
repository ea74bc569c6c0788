"""How the figures of a group's plan came about, line by line, so that each can be checked by hand."""

from collections.abc import Sequence

from app.planning import sharing
from app.planning.plan_parts import DiverGas, DiverNitrogen, GroupCase, Step
from app.planning.water import PRESSURE_SOURCE

AIR_SOURCE = "real gas, Lemmon et al. 2000, J Phys Chem Ref Data 29:331"
GAS_SOURCE = "mass balance at water temperature"
SHARING_SOURCE = "common practice, no source"
ZHL_SOURCE = "ZH-L16C, from memory, believed Buehlmann, Tauchmedizin, 1995"
NAVY_SOURCE = "from memory, believed US Navy Diving Manual rev 7, table 9-7"


def working_of(
    case: GroupCase,
    gas: Sequence[DiverGas],
    nitrogens: Sequence[DiverNitrogen],
    sharing_rate_l_min: float,
    waypoints: Sequence[tuple[float, float]],
) -> tuple[Step, ...]:
    """Return the working of a plan."""
    sea = case.sea
    pressure = sea.pressure(case.depth_m)
    steps = [
        Step(
            "Pressure at depth",
            f"{sea.surface_bar:.5f} bar + {sea.density_kg_m3:g} kg/m3 x 9.80665 x {case.depth_m:g} m / 1e5",
            pressure,
            "bar absolute",
            PRESSURE_SOURCE,
        ),
        Step(
            "Time to the surface from the ascent",
            f"{case.depth_m:g} m at {case.ascent_m_min:g} m/min, "
            f"stop {case.stop_min:g} min at {case.stop_m:g} m",
            waypoints[-1][0] - case.minutes,
            "min",
            SHARING_SOURCE,
        ),
        Step(
            "Gas for two on one cylinder from depth",
            f"{case.sharing.divers} x {sharing_rate_l_min:.1f} L/min x {case.sharing.stress_factor:g}, "
            f"{case.sharing.reaction_min:g} min at depth, then up with the stop",
            sharing.sharing_bar_litres(case.depth_m, sharing_rate_l_min, case.sharing, sea),
            "bar.L",
            SHARING_SOURCE,
        ),
    ]
    for one, diver in zip(gas, case.divers, strict=True):
        density = "rho(p, T)"
        steps += [
            Step(
                f"{one.name}: start at water temperature",
                f"{diver.fill_gauge_bar:g} bar at {diver.fill_temp_c:g} C, closed, to {sea.temp_c:g} C",
                one.start_gauge_bar,
                "bar",
                AIR_SOURCE,
            ),
            Step(
                f"{one.name}: gas used",
                f"sum of {diver.cautious_rate_l_min:.1f} L/min (first minutes more) x min x mean pressure",
                one.used_bar_litres,
                "bar.L",
                GAS_SOURCE,
            ),
            Step(
                f"{one.name}: end pressure",
                f"{density} at the end = {density} at the start - mass used / {one.litres:g} L",
                one.end_gauge_bar,
                "bar",
                AIR_SOURCE,
            ),
            Step(
                f"{one.name}: pressure to start sharing with",
                f"{density} = {density} at {case.sharing.residual_gauge_bar:g} bar + mass / {one.litres:g} L",
                one.sharing_gauge_bar,
                "bar",
                AIR_SOURCE,
            ),
        ]
    for tissue in nitrogens:
        if tissue.zhl_minutes_total is not None:
            steps.append(
                Step(
                    f"{tissue.name}: no-stop time, ZH-L16C",
                    f"tissue {tissue.zhl_compartment}, gradient factor {case.gradient_factor:g}",
                    tissue.zhl_minutes_total,
                    "min",
                    ZHL_SOURCE,
                )
            )
        if tissue.navy_minutes_total is not None:
            steps.append(
                Step(
                    f"{tissue.name}: no-stop time, navy table",
                    "equal or next deeper row, residual time taken off",
                    tissue.navy_minutes_total,
                    "min",
                    NAVY_SOURCE,
                )
            )
    return tuple(steps)
