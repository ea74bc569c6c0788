"""Gas breathed along a profile, exact on straight pieces, and when a gauge gets to a pressure.

A demand valve gives gas at the pressure around the diver, so a rate in L/min counts litres at depth.
bar.L of a straight piece = rate * minutes * mean absolute pressure (exact). Its mass is the rate times
the integral of the air's density along the piece (three-point Gauss, exact to rounding here).
The cylinder stays at water temperature throughout.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

from app.planning import air
from app.planning.profile import Segment
from app.planning.water import pressure_at

GAUSS = ((0.5 - sqrt(0.15), 5 / 18), (0.5, 8 / 18), (0.5 + sqrt(0.15), 5 / 18))
# Pieces into which a segment is cut when looking for the first moment without gas.
LOOKS = 64


@dataclass(frozen=True)
class Sea:
    """The water around the dive."""

    temp_c: float
    density_kg_m3: float
    surface_bar: float

    def pressure(self, depth_m: float) -> float:
        """Return absolute pressure in bar at a depth."""
        return pressure_at(depth_m, self.density_kg_m3, self.surface_bar)


@dataclass(frozen=True)
class Cylinder:
    """A cylinder at water temperature: litres, and its gauge in bar at the start."""

    litres: float
    start_gauge_bar: float


def bar_litres(pieces: Sequence[Segment], sea: Sea) -> float:
    """Return the gas breathed in bar.L (litres at depth times absolute pressure)."""
    return sum(
        piece.rate_l_min * piece.minutes * (sea.pressure(piece.start_m) + sea.pressure(piece.end_m)) / 2
        for piece in pieces
    )


def mass_g(pieces: Sequence[Segment], sea: Sea) -> float:
    """Return the gas breathed in grams."""
    return sum(piece_mass_g(piece, sea) for piece in pieces)


def piece_mass_g(piece: Segment, sea: Sea) -> float:
    """Return the gas breathed on one straight piece in grams."""
    if piece.start_m == piece.end_m:
        return piece.rate_l_min * piece.minutes * air.density(sea.pressure(piece.start_m), sea.temp_c)
    mean = 0.0
    for where, weight in GAUSS:
        depth = piece.start_m + (piece.end_m - piece.start_m) * where
        mean += weight * air.density(sea.pressure(depth), sea.temp_c)
    return piece.rate_l_min * piece.minutes * mean


def gauge_after(cylinder: Cylinder, used_g: float, sea: Sea) -> float:
    """Return the gauge in bar after a mass was breathed; as empty as it gets when more was asked."""
    left = air.density(cylinder.start_gauge_bar + sea.surface_bar, sea.temp_c) - used_g / cylinder.litres
    return air.pressure_of(max(left, 0.0), sea.temp_c) - sea.surface_bar


def gauges_at(
    cylinder: Cylinder, pieces: Sequence[Segment], minutes: Sequence[float], sea: Sea
) -> tuple[float, ...]:
    """Return the gauge in bar at each of these rising minutes of a profile, in one walk along it."""
    found = []
    used, place = 0.0, 0
    for minute in minutes:
        while place < len(pieces) and pieces[place].end_min <= minute:
            used += piece_mass_g(pieces[place], sea)
            place += 1
        part = 0.0
        if place < len(pieces) and pieces[place].start_min < minute:
            part = piece_mass_g(pieces[place].up_to(minute), sea)
        found.append(gauge_after(cylinder, used + part, sea))
    return tuple(found)


def mass_to_gauge(cylinder: Cylinder, gauge_bar: float, sea: Sea) -> float:
    """Return the grams that can be breathed until the gauge shows a pressure (0 when it already does)."""
    start = air.density(cylinder.start_gauge_bar + sea.surface_bar, sea.temp_c)
    end = air.density(gauge_bar + sea.surface_bar, sea.temp_c)
    return max(0.0, (start - end) * cylinder.litres)


def minute_at_mass(pieces: Sequence[Segment], target_g: float, sea: Sea) -> float | None:
    """Return the first minute at which a mass has been breathed; None when the profile ends before."""
    if target_g <= 0:
        return 0.0
    used = 0.0
    for piece in pieces:
        more = piece_mass_g(piece, sea)
        if used + more >= target_g:
            return _minute_inside(piece, target_g - used, sea)
        used += more
    return None


def minute_at_gauge(
    cylinder: Cylinder, pieces: Sequence[Segment], gauge_bar: float, sea: Sea
) -> float | None:
    """Return the first minute on the profile at which the gauge is at or under a pressure; None if never."""
    return minute_at_mass(pieces, mass_to_gauge(cylinder, gauge_bar, sea), sea)


def minute_at_gauge_staying(
    cylinder: Cylinder,
    pieces_before: Sequence[Segment],
    stay_m: float,
    rate_l_min: float,
    gauge_bar: float,
    sea: Sea,
) -> float:
    """Return the minute at which the gauge is at a pressure when the group stays instead of going up.

    ``pieces_before``: the profile up to where the final ascent would begin; from there the group stays at
    ``stay_m`` metres with ``rate_l_min``.
    """
    target = mass_to_gauge(cylinder, gauge_bar, sea)
    on_the_way = minute_at_mass(pieces_before, target, sea)
    if on_the_way is not None:
        return on_the_way
    start = pieces_before[-1].end_min if pieces_before else 0.0
    left = target - mass_g(pieces_before, sea)
    return start + left / (rate_l_min * air.density(sea.pressure(stay_m), sea.temp_c))


def out_of_gas_minute(cylinder: Cylinder, pieces: Sequence[Segment], sea: Sea) -> float | None:
    """Return the first minute at which the cylinder has fallen to the pressure around it; None if never."""

    def over(piece: Segment, minute: float, used_before_g: float) -> float:
        part = piece.up_to(minute)
        gauge = gauge_after(cylinder, used_before_g + piece_mass_g(part, sea), sea)
        return gauge + sea.surface_bar - sea.pressure(part.end_m)

    used = 0.0
    if cylinder.start_gauge_bar + sea.surface_bar <= sea.pressure(pieces[0].start_m) if pieces else False:
        return pieces[0].start_min
    for piece in pieces:
        more = piece_mass_g(piece, sea)
        deepest = max(piece.start_m, piece.end_m)
        if gauge_after(cylinder, used + more, sea) + sea.surface_bar <= sea.pressure(deepest):
            marks = [piece.start_min + piece.minutes * n / LOOKS for n in range(LOOKS + 1)]
            for low, high in pairwise(marks):
                if over(piece, high, used) <= 0:
                    return _first_zero(lambda minute: over(piece, minute, used), low, high)  # noqa: B023
        used += more
    return None


def _minute_inside(piece: Segment, mass: float, sea: Sea) -> float:
    def missing(minute: float) -> float:
        part = piece.up_to(minute)
        return mass - piece_mass_g(part, sea)

    if piece.start_m == piece.end_m:
        return piece.start_min + mass / (
            piece.rate_l_min * air.density(sea.pressure(piece.start_m), sea.temp_c)
        )
    return _first_zero(missing, piece.start_min, piece.end_min)


def _first_zero(falling, low: float, high: float) -> float:  # type: ignore[no-untyped-def]
    """Return where a function that is positive at ``low`` and not at ``high`` crosses zero (bisection)."""
    for _ in range(60):
        middle = (low + high) / 2
        if falling(middle) > 0:
            low = middle
        else:
            high = middle
    return high
