"""The figures on a blank plan: the rules in force, and the gas that two people need to go up on one cylinder.

For the hours in which no plan can be worked out. Nothing here is a plan: the guide fills it in.
"""

from dataclasses import dataclass
from math import ceil

from app.planning import sharing
from app.planning.breathing import REFERENCE_MASS_KG, predict, prior
from app.planning.consumption import Sea
from app.planning.sharing import Sharing
from app.rules import limits as L
from app.rules.gas import sharing_inputs
from app.rules.limits import Limit
from app.rules.resolve import InForce, Limits

FIGURES: tuple[Limit, ...] = (
    L.TURN_PRESSURE, L.END_PRESSURE_MIN, L.DEPTH_PLAN_DEFAULT, L.DEPTH_MAX_CONFINED, L.DEPTH_MAX_AGE_10_11,
    L.DEPTH_MAX_AGE_12_14, L.DEPTH_MAX_AGE_15_17, L.BOTTOM_TIME_MAX, L.ASCENT_RATE_MAX,
    L.SAFETY_STOP_MINUTES, L.SAFETY_STOP_DEPTH, L.SAFETY_STOP_FROM_DEPTH, L.RATIO_OPEN_WATER_GOOD,
    L.RATIO_OPEN_WATER_FAIR, L.RATIO_OPEN_WATER_POOR, L.RATIO_CONFINED, L.DIVES_PER_GUEST_PER_DAY,
    L.SURFACE_INTERVAL_MIN, L.SEPARATION_SEARCH, L.NO_FLY_SINGLE, L.NO_FLY_ADVISE,
)  # fmt: skip
"""What a guide needs beside a blank plan, in the order of the dive."""

DEPTHS_M = (6.0, 8.0, 10.0, 12.0)
CYLINDERS_L = (10.0, 12.0, 15.0)
# The densest and coldest water that the table is read for: it asks for the most gas.
COLD_SEA = Sea(temp_c=10.0, density_kg_m3=1030.0, surface_bar=1.01325)


@dataclass(frozen=True, slots=True)
class Needed:
    """Depth in m, and for each cylinder of ``CYLINDERS_L`` the gauge pressure in bar to leave it with."""

    depth_m: float
    bars: tuple[float, ...]


def figures(limits: Limits) -> tuple[tuple[Limit, InForce], ...]:
    """Return each limit of a blank plan with the value in force."""
    return tuple((limit, limits[limit]) for limit in FIGURES)


def breathing_rate_l_min() -> float:
    """Return the breathing rate that the table rests on: a guest's before anything was learned, L/min."""
    return predict(prior(), REFERENCE_MASS_KG).expected_l_min


def shared_way_up(limits: Limits) -> tuple[Needed, ...]:
    """Return what two people need to go up on one cylinder, never under the reserve; none while not known.

    Gauge in bar, rounded up to the shop's next full step; the shop's stress factor, minute at depth, way
    up and stop are in it.
    """
    share, step = sharing_inputs(limits), limits[L.RESERVE_ROUNDING].number
    reserve = limits[L.END_PRESSURE_MIN].number
    if share is None or step is None or reserve is None or step <= 0:
        return ()
    how = Sharing(
        share.divers,
        share.stress_factor,
        share.reaction_min,
        share.ascent_rate_m_min,
        share.stop_depth_m,
        share.stop_min,
        share.residual_gauge_bar,
    )
    rate = breathing_rate_l_min()
    return tuple(
        Needed(
            depth,
            tuple(
                max(
                    reserve,
                    ceil(sharing.sharing_gauge_bar(litres, depth, rate, how, COLD_SEA) / step - 1e-9) * step,
                )
                for litres in CYLINDERS_L
            ),
        )
        for depth in DEPTHS_M
    )
