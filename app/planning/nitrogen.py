"""Nitrogen in sixteen model tissues: ZH-L16C, air, with a gradient factor.

Limit for coming straight up: M = Ps + gf * (M0 - Ps), M0 = a + Ps / b. Coefficients from memory, believed
Buehlmann, Tauchmedizin, 4th ed. 1995; the reduced "C" values of a for compartments 5 to 15 rest on memory
alone and must be compared with the book before anybody relies on them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, log

from app.planning.profile import Segment, segments
from app.planning.water import pressure_at

NITROGEN_FRACTION = 0.7902
WATER_VAPOUR_BAR = 0.0627
HALF_TIMES_MIN = (
    4.0, 8.0, 12.5, 18.5, 27.0, 38.3, 54.3, 77.0, 109.0, 146.0, 187.0, 239.0, 305.0, 390.0, 498.0, 635.0,
)  # fmt: skip
A_BAR = (
    1.2599, 1.0, 0.8618, 0.7562, 0.62, 0.5043, 0.441, 0.4,
    0.375, 0.35, 0.3295, 0.3065, 0.2835, 0.261, 0.248, 0.2327,
)  # fmt: skip
B = (
    0.505, 0.6514, 0.7222, 0.7825, 0.8126, 0.8434, 0.8693, 0.891,
    0.9092, 0.9222, 0.9319, 0.9403, 0.9477, 0.9544, 0.9602, 0.9653,
)  # fmt: skip

Tissues = tuple[float, ...]


@dataclass(frozen=True)
class NoStop:
    """Minutes that can still be stayed before coming straight up would break the limit.

    minutes None: without limit at this depth. compartment: 1 to 16, None when nothing limits.
    """

    minutes: float | None
    compartment: int | None


def inspired_bar(ambient_bar: float) -> float:
    """Return the nitrogen pressure breathed in, in bar, on air at an ambient pressure."""
    return NITROGEN_FRACTION * (ambient_bar - WATER_VAPOUR_BAR)


def saturated(surface_bar: float) -> Tissues:
    """Return tissues that have long been at the surface."""
    return (inspired_bar(surface_bar),) * len(HALF_TIMES_MIN)


def stay(tissues: Tissues, ambient_bar: float, minutes: float) -> Tissues:
    """Return the tissues after minutes at one pressure, after Haldane.

    P(t) = P_I + (P0 - P_I) * 2^(-t / half time), P_I the nitrogen breathed in.
    """
    goal = inspired_bar(ambient_bar)
    return tuple(
        goal + (p - goal) * 2 ** (-minutes / half) for p, half in zip(tissues, HALF_TIMES_MIN, strict=True)
    )


def travel(tissues: Tissues, start_bar: float, end_bar: float, minutes: float) -> Tissues:
    """Return the tissues after minutes from one pressure to another at a constant rate, after Schreiner.

    P(t) = P_I0 + R (t - 1/k) - (P_I0 - P0 - R/k) e^(-kt), R the rise of what is breathed in, k = ln 2 / half
    time.
    """
    if minutes <= 0:
        return tissues
    if start_bar == end_bar:
        return stay(tissues, start_bar, minutes)
    rate = NITROGEN_FRACTION * (end_bar - start_bar) / minutes
    first = inspired_bar(start_bar)
    after = []
    for p, half in zip(tissues, HALF_TIMES_MIN, strict=True):
        k = log(2) / half
        after.append(first + rate * (minutes - 1 / k) - (first - p - rate / k) * exp(-k * minutes))
    return tuple(after)


def dive(tissues: Tissues, pieces: Sequence[Segment], density_kg_m3: float, surface_bar: float) -> Tissues:
    """Return the tissues after the pieces of a profile."""
    for piece in pieces:
        start = pressure_at(piece.start_m, density_kg_m3, surface_bar)
        end = pressure_at(piece.end_m, density_kg_m3, surface_bar)
        tissues = travel(tissues, start, end, piece.minutes)
    return tissues


def carried(
    dives: Iterable[tuple[Sequence[tuple[float, float]], float]], density_kg_m3: float, surface_bar: float
) -> Tissues:
    """Return what is left of earlier dives when the next one begins, the time at the surface counted off.

    dives: in order, each as its waypoints (minute, metre) and the minutes at the surface after it.
    """
    tissues = saturated(surface_bar)
    for waypoints, interval_min in dives:
        tissues = dive(tissues, segments(waypoints, 1.0), density_kg_m3, surface_bar)
        tissues = stay(tissues, surface_bar, interval_min)
    return tissues


def m0_bar(surface_bar: float) -> Tissues:
    """Return the limit of each tissue for being at the surface, in bar."""
    return tuple(a + surface_bar / b for a, b in zip(A_BAR, B, strict=True))


def surfacing_fraction(tissues: Tissues, surface_bar: float) -> float:
    """Return the largest tissue pressure as a fraction of its surface limit M0."""
    return max(p / m for p, m in zip(tissues, m0_bar(surface_bar), strict=True))


def no_stop(tissues: Tissues, ambient_bar: float, surface_bar: float, gradient_factor: float) -> NoStop:
    """Return how long the group may stay at a pressure and still come straight up (closed form)."""
    goal = inspired_bar(ambient_bar)
    best: NoStop = NoStop(None, None)
    worst_over = 0.0
    for number, (p, half, m0) in enumerate(zip(tissues, HALF_TIMES_MIN, m0_bar(surface_bar), strict=True), 1):
        limit = surface_bar + gradient_factor * (m0 - surface_bar)
        if p >= limit:
            if best.minutes != 0 or p - limit > worst_over:
                best, worst_over = NoStop(0.0, number), p - limit
            continue
        if goal <= limit:
            continue
        minutes = -half / log(2) * log((goal - limit) / (goal - p))
        if best.minutes is None or minutes < best.minutes:
            best = NoStop(minutes, number)
    return best


def no_stop_from_surface(
    tissues: Tissues, ambient_bar: float, down_min: float, surface_bar: float, gradient_factor: float
) -> NoStop:
    """Return the no-stop minutes counted from leaving the surface, with a steady way down.

    0 when the limit is over before the depth is reached.
    """
    at_depth = travel(tissues, surface_bar, ambient_bar, down_min)
    left = no_stop(at_depth, ambient_bar, surface_bar, gradient_factor)
    return NoStop(down_min + left.minutes, left.compartment) if left.minutes else left
