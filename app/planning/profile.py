"""A dive as waypoints (minute, metre), depth running straight between them."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

# Half of the navy's 30 ft/min.
SLOWEST_WAY_UP_M_MIN = 15 * 0.3048


@dataclass(frozen=True)
class Segment:
    """One straight piece of a profile: minutes and metres at both ends, gas rate in L/min."""

    start_min: float
    end_min: float
    start_m: float
    end_m: float
    rate_l_min: float

    @property
    def minutes(self) -> float:
        """How long it lasts."""
        return self.end_min - self.start_min

    def depth_at(self, minute: float) -> float:
        """Return the depth in metres at a minute inside the segment."""
        if self.minutes == 0:
            return self.end_m
        return self.start_m + (self.end_m - self.start_m) * (minute - self.start_min) / self.minutes

    def up_to(self, minute: float) -> "Segment":
        """Return the part of it before a minute inside the segment."""
        return Segment(self.start_min, minute, self.start_m, self.depth_at(minute), self.rate_l_min)


def segments(
    waypoints: Sequence[tuple[float, float]], rates_l_min: float | Sequence[float]
) -> tuple[Segment, ...]:
    """Return the pieces of a profile, each with its gas rate (one for all, or one for each piece).

    Raises ValueError for fewer than two waypoints, times that do not rise, depths above the surface, a
    first waypoint that is not at minute 0, or a number of rates that does not match.
    """
    if len(waypoints) < 2:
        raise ValueError("a profile has at least two waypoints")
    if waypoints[0][0] != 0:
        raise ValueError("a profile starts at minute 0")
    count = len(waypoints) - 1
    rates = (
        [float(rates_l_min)] * count
        if isinstance(rates_l_min, int | float)
        else [float(r) for r in rates_l_min]
    )
    if len(rates) != count:
        raise ValueError(f"{count} segments need {count} rates, not {len(rates)}")
    for (before, _), (after, _) in pairwise(waypoints):
        if after <= before:
            raise ValueError("the minutes of a profile rise from waypoint to waypoint")
    if any(depth < 0 for _, depth in waypoints):
        raise ValueError("depths are 0 or more")
    return tuple(
        Segment(t1, t2, d1, d2, rate)
        for (t1, d1), (t2, d2), rate in zip(waypoints, waypoints[1:], rates, strict=False)
    )


def depth_at(waypoints: Sequence[tuple[float, float]], minute: float) -> float:
    """Return the depth in metres at a minute of the profile (the end's depth after its end)."""
    for (t1, d1), (t2, d2) in pairwise(waypoints):
        if t1 <= minute <= t2:
            return d1 + (d2 - d1) * (minute - t1) / (t2 - t1)
    return waypoints[-1][1]


def cut_at(pieces: Sequence[Segment], minute: float) -> tuple[Segment, ...]:
    """Return the part of a profile up to a minute."""
    kept: list[Segment] = []
    for piece in pieces:
        if piece.end_min <= minute:
            kept.append(piece)
        elif piece.start_min < minute:
            kept.append(piece.up_to(minute))
    return tuple(kept)


def bottom_minutes(waypoints: Sequence[tuple[float, float]]) -> float:
    """Return the minutes from leaving the surface to leaving the bottom for good.

    The bottom is left where the last unbroken way up begins: on a dive over several levels that is the
    shallowest one, however short the deepest was. A stop on the way, or a piece that rises slower than
    half of 30 ft/min, still counts as the bottom (our own cautious choice).
    """
    left = waypoints[-1][0]
    for (t1, d1), (t2, d2) in reversed(list(pairwise(waypoints))):
        if d1 - d2 < SLOWEST_WAY_UP_M_MIN * (t2 - t1):
            break
        left = t1
    return left


def group_profile(
    depth_m: float,
    minutes_before_ascent: float,
    descent_m_min: float,
    ascent_m_min: float,
    stop_m: float,
    stop_min: float,
) -> tuple[tuple[float, float], ...]:
    """Return the waypoints of a plain dive: down, along, up at the rate, a stop, up.

    ``minutes_before_ascent`` counts from leaving the surface to the start of the final ascent. The stop
    is left out when it is not shallower than the dive.
    """
    down = min(depth_m / descent_m_min, minutes_before_ascent)
    points = [(0.0, 0.0), (down, depth_m)]
    if minutes_before_ascent > down:
        points.append((minutes_before_ascent, depth_m))
    now, here = minutes_before_ascent, depth_m
    if stop_min > 0 and depth_m > stop_m:
        now += (here - stop_m) / ascent_m_min
        points += [(now, stop_m), (now + stop_min, stop_m)]
        now, here = now + stop_min, stop_m
    points.append((now + here / ascent_m_min, 0.0))
    return tuple(points)
