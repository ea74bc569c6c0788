"""How the figures of a group's plan came about, line by line, so that each can be checked by hand."""

from collections.abc import Sequence

from app.planning import sharing
from app.planning.breathing import SETTLE_MIN
from app.planning.plan_parts import DiverGas, DiverNitrogen, GroupCase, GroupDiver, Step
from app.planning.water import PRESSURE_SOURCE

AIR_SOURCE = "real gas, Lemmon et al. 2000, J Phys Chem Ref Data 29:331"
GAS_SOURCE = "mass balance at water temperature"
COMMON = "common practice, no source"
ZHL_SOURCE = "ZH-L16C, from memory, believed Buehlmann, Tauchmedizin, 1995"
NAVY_SOURCE = "from memory, believed US Navy Diving Manual rev 7, table 9-7"
SET = "a limit of the shop, see the table of limits"


def working_of(
    case: GroupCase,
    gas: Sequence[DiverGas],
    nitrogens: Sequence[DiverNitrogen],
    sharing_rate_l_min: float,
    waypoints: Sequence[tuple[float, float]],
) -> tuple[Step, ...]:
    """Return the working of a plan: first of the group, then of each diver."""
    up_min = waypoints[-1][0] - case.minutes
    steps = list(_of_group(case, gas, sharing_rate_l_min, up_min))
    for one, diver, tissue in zip(gas, case.divers, nitrogens, strict=True):
        steps += _of_gas(case, one, diver)
        steps += _of_minutes(case, one, diver)
        steps += _of_nitrogen(case, tissue)
    return tuple(steps)


def _of_group(
    case: GroupCase, gas: Sequence[DiverGas], sharing_rate_l_min: float, up_min: float
) -> tuple[Step, ...]:
    sea, share = case.sea, case.sharing
    first = min(gas, key=lambda one: (one.minutes_to_turn, one.id))
    stop = f" + {case.stop_min:g} min at {case.stop_m:g} m" if case.stop_min else ""
    return (
        Step(
            "Pressure at depth",
            f"{sea.surface_bar:.5f} bar + {sea.density_kg_m3:g} kg/m³ × 9.80665 m/s² × {case.depth_m:g} m",
            sea.pressure(case.depth_m),
            "bar absolute",
            PRESSURE_SOURCE,
            "air at the surface + density of the water × gravity × depth",
            "none",
        ),
        Step(
            "Way up",
            f"{case.depth_m:g} m / {case.ascent_m_min:g} m/min{stop}",
            up_min,
            "min",
            COMMON,
            "depth / rate of ascent, and the stop",
            "the rate is the fastest allowed"
            if case.stop_min
            else "the rate is the fastest allowed; no stop",
        ),
        Step(
            "Whole dive",
            f"{case.minutes:g} min + {up_min:.1f} min",
            case.minutes + up_min,
            "min",
            "counted from leaving the surface",
            "planned minutes + way up",
            "none",
        ),
        Step(
            "Turn pressure",
            f"first at the gauge of {first.name}",
            case.turn_bar,
            "bar",
            SET,
            "set, not worked out: the lowest gauge of the group counts",
            "everybody starts back, whatever the other gauges read",
        ),
        Step(
            "Gas for two on one cylinder from depth",
            f"{share.divers} × {sharing_rate_l_min:.1f} L/min × {share.stress_factor:g}, "
            f"{share.reaction_min:g} min at {case.depth_m:g} m, then the way up with the stop",
            sharing.sharing_bar_litres(case.depth_m, sharing_rate_l_min, share, sea),
            "bar.L",
            COMMON,
            "people × rate × stress factor × minutes × mean pressure, piece by piece",
            f"largest expected rate of the group, × {share.stress_factor:g}, "
            f"{share.reaction_min:g} min before the way up",
        ),
    )


def _of_gas(case: GroupCase, one: DiverGas, diver: GroupDiver) -> tuple[Step, ...]:
    sea, share = case.sea, case.sharing

    def end(what: str, rate: float, value: float, margin: str) -> Step:
        return Step(
            what,
            f"{one.start_gauge_bar:.1f} bar in {one.litres:g} L, less the air breathed at {rate:.1f} L/min",
            value,
            "bar",
            AIR_SOURCE,
            "mass at the start - mass breathed = mass left; its pressure at water temperature",
            margin,
            one.id,
        )

    light, light_end = diver.light_rate_l_min, one.light_end_gauge_bar
    return (
        Step(
            "Start at water temperature",
            f"{diver.fill_gauge_bar:.4g} bar at {diver.fill_temp_c:g} °C, closed, to {sea.temp_c:g} °C",
            one.start_gauge_bar,
            "bar",
            AIR_SOURCE,
            "the same air in the same cylinder: its density stays, its pressure falls with the temperature",
            "a gauge read without a thermometer counts as warm, so that it holds less",
            one.id,
        ),
        Step(
            "Gas used",
            f"{diver.cautious_rate_l_min:.1f} L/min over {case.minutes:g} min at {case.depth_m:g} m "
            "and on the way down and up",
            one.used_bar_litres,
            "bar.L",
            GAS_SOURCE,
            "rate × minutes × mean pressure, added up piece by piece",
            f"cautious end of the band; the first {SETTLE_MIN:g} min count higher",
            one.id,
        ),
        end("End, cautious", diver.cautious_rate_l_min, one.end_gauge_bar, "the plan counts on this one"),
        end("End, expected", diver.expected_rate_l_min, one.expected_end_gauge_bar, "none: the middle"),
        *(
            ()
            if light is None or light_end is None
            else (end("End, light", light, light_end, "none: the other end of nine of ten"),)
        ),
        Step(
            "Pressure to start sharing with",
            f"the gas for two in {one.litres:g} L, and {share.residual_gauge_bar:g} bar that stay in it",
            one.sharing_gauge_bar,
            "bar",
            AIR_SOURCE,
            "mass for two + mass that stays in the cylinder; its pressure at water temperature",
            f"{share.residual_gauge_bar:g} bar are left in the cylinder",
            one.id,
        ),
        Step(
            "Reserve in force",
            f"{case.reserve_bar:g} bar, or {one.sharing_gauge_bar:.1f} bar rounded up to a full "
            f"{case.reserve_rounding_bar:g}",
            one.reserve_in_force_bar,
            "bar",
            SET,
            "the larger of the reserve rule and the pressure to start sharing with",
            f"rounded up to a full {case.reserve_rounding_bar:g} bar",
            one.id,
        ),
    )


def _of_minutes(case: GroupCase, one: DiverGas, diver: GroupDiver) -> tuple[Step, ...]:
    rate = f"{one.start_gauge_bar:.1f} bar, {diver.cautious_rate_l_min:.1f} L/min at {case.depth_m:g} m"

    def staying(what: str, gauge: float, minutes: float) -> Step:
        return Step(
            what,
            f"{rate}, until the gauge reads {gauge:.4g} bar",
            minutes,
            "min",
            GAS_SOURCE,
            "minutes from leaving the surface, if the diver stays at depth",
            "cautious rate",
            one.id,
        )

    return (
        staying("Minutes to the turn", case.turn_bar, one.minutes_to_turn),
        staying("Minutes to the reserve", one.reserve_in_force_bar, one.minutes_to_reserve),
        Step(
            "Latest start of the way up",
            f"{rate}, back with {one.reserve_in_force_bar:g} bar",
            one.latest_ascent_min,
            "min",
            GAS_SOURCE,
            "the last minute from which this diver still surfaces with the reserve",
            "cautious rate, and the whole way up",
            one.id,
        ),
    )


def _of_nitrogen(case: GroupCase, tissue: DiverNitrogen) -> tuple[Step, ...]:
    steps = []
    if tissue.zhl_minutes_total is not None:
        steps.append(
            Step(
                "No-stop time, ZH-L16C",
                f"tissue {tissue.zhl_compartment} of 16, {case.gradient_factor * 100:g} % of its limit",
                tissue.zhl_minutes_total,
                "min",
                ZHL_SOURCE,
                "minutes until the first tissue may only just come straight up",
                f"{case.gradient_factor * 100:g} % of the limit instead of all of it",
                tissue.id,
            )
        )
    if tissue.navy_minutes_total is not None:
        steps.append(
            Step(
                "No-stop time, navy table",
                f"{case.depth_m:g} m, residual time of the day taken off",
                tissue.navy_minutes_total,
                "min",
                NAVY_SOURCE,
                "row of this depth, or the next deeper one, less the residual time",
                "next deeper row",
                tissue.id,
            )
        )
    return tuple(steps)
