"""Sharing gas: what two people need to reach the surface on one cylinder, with a stop and a margin.

Everybody sharing breathes rate x stress factor: for the reaction time at the deepest point, on the way
up at the rate, at the stop (only when the trouble was deeper than the stop), and on the last way up.
Method and the usual values of its margins: common practice, no source.
"""

from dataclasses import dataclass
from itertools import pairwise

from app.planning import air
from app.planning.consumption import Sea, bar_litres, mass_g
from app.planning.profile import Segment


@dataclass(frozen=True)
class Sharing:
    """How sharing is reckoned. residual_gauge_bar: what a regulator can no longer deliver."""

    divers: int
    stress_factor: float
    reaction_min: float
    ascent_rate_m_min: float
    stop_depth_m: float
    stop_min: float
    residual_gauge_bar: float


def way_up(depth_m: float, rate_l_min: float, how: Sharing) -> tuple[Segment, ...]:
    """Return the shared way up from a depth; the gas rate is that of all who share, together."""
    rate = rate_l_min * how.stress_factor * how.divers
    points = [(0.0, depth_m), (how.reaction_min, depth_m)]
    if depth_m > how.stop_depth_m:
        at_stop = how.reaction_min + (depth_m - how.stop_depth_m) / how.ascent_rate_m_min
        points += [(at_stop, how.stop_depth_m), (at_stop + how.stop_min, how.stop_depth_m)]
    last_min, last_m = points[-1]
    points.append((last_min + last_m / how.ascent_rate_m_min, 0.0))
    return tuple(Segment(t1, t2, d1, d2, rate) for (t1, d1), (t2, d2) in pairwise(points) if t2 > t1)


def minutes_up(depth_m: float, how: Sharing) -> float:
    """Return the minutes from the trouble to the surface, reaction and stop included."""
    pieces = way_up(depth_m, 1.0, how)
    return pieces[-1].end_min if pieces else 0.0


def sharing_bar_litres(depth_m: float, rate_l_min: float, how: Sharing, sea: Sea) -> float:
    """Return the gas that all who share breathe on the way up, in bar.L."""
    return bar_litres(way_up(depth_m, rate_l_min, how), sea)


def sharing_gauge_bar(litres: float, depth_m: float, rate_l_min: float, how: Sharing, sea: Sea) -> float:
    """Return the gauge pressure in bar that one cylinder must still show when the sharing begins."""
    rest = air.density(how.residual_gauge_bar + sea.surface_bar, sea.temp_c)
    needed = mass_g(way_up(depth_m, rate_l_min, how), sea) / litres
    return air.pressure_of(rest + needed, sea.temp_c) - sea.surface_bar
