"""The rest of a dive once a gauge was read in the middle of it: the new end, and how long until the turn.

The rate believed before the dive is drawn to what the reading shows (`breathing.after_reading`), and the gas
is reckoned on from the gauge as read. Figures keep full precision; the careful ones are on the cautious end.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from app.planning import consumption, profile
from app.planning.breathing import REFERENCE_MASS_KG, LoggedDive, Rates, after_reading
from app.planning.consumption import Cylinder, Sea
from app.planning.diver_gas import SETTLED_AFTER_MIN, rates_along


@dataclass(frozen=True)
class MidReading:
    """A gauge read under water: bar at the start and now, litres of the cylinder, minute of the dive."""

    start_bar: float
    bar: float
    litres: float
    minute: float


@dataclass(frozen=True)
class Rest:
    """What is expected from a reading on. Ends in bar at the surface on the planned profile.

    Nine of ten end between low_end_bar and high_end_bar. Minutes from leaving the surface, if the group
    stays at depth, on the cautious rate; likely_turn_min on the expected one.
    """

    rates: Rates
    expected_end_bar: float
    low_end_bar: float
    high_end_bar: float
    turn_min: float
    likely_turn_min: float
    reserve_min: float


@dataclass(frozen=True)
class FromStart:
    """What a start pressure carries on one rate: minutes from leaving the surface to the turn and to the
    reserve, if the group stays at depth, and the end in bar on the planned profile."""

    turn_min: float
    reserve_min: float
    end_bar: float


def from_start(
    own: Cylinder,
    rate_l_min: float,
    waypoints: Sequence[tuple[float, float]],
    turn_bar: float,
    reserve_bar: float,
    sea: Sea,
) -> FromStart:
    """Return what a cylinder as it went in carries on a rate; waypoints (minute, m) of the plan."""
    used = consumption.mass_g(rates_along(waypoints, rate_l_min), sea)
    return FromStart(
        _minute_at(own, 0.0, turn_bar, rate_l_min, waypoints, sea),
        _minute_at(own, 0.0, reserve_bar, rate_l_min, waypoints, sea),
        consumption.gauge_after(own, used, sea),
    )


def rest_of_dive(
    before: Rates,
    read: MidReading,
    waypoints: Sequence[tuple[float, float]],
    turn_bar: float,
    reserve_bar: float,
    sea: Sea,
) -> Rest:
    """Return what to expect after a reading; waypoints (minute, m) of the plan: down, along, up.

    Until the reading the diver is taken to have gone down as planned and stayed. A dive that is longer than
    planned goes up from the reading on. Raises ValueError for a reading that shows no gas used.
    """
    so_far = profile.segments(_staying(waypoints, read.minute), 1.0)
    metres = sum((one.start_m + one.end_m) / 2 * one.minutes for one in profile.cut_at(so_far, read.minute))
    mean = metres / read.minute if read.minute > 0 else 0.0
    seen = LoggedDive(
        read.start_bar,
        read.bar,
        read.litres,
        read.minute,
        mean,
        REFERENCE_MASS_KG,
        water_temp_c=sea.temp_c,
        density_kg_m3=sea.density_kg_m3,
        surface_bar=sea.surface_bar,
    )
    rates = after_reading(before, seen)
    own = Cylinder(read.litres, read.bar)
    points = _later(waypoints, read.minute)

    def end(rate: float) -> float:
        pieces = rates_along(points, rate)
        rest = consumption.mass_g(pieces, sea) - consumption.mass_g(profile.cut_at(pieces, read.minute), sea)
        return consumption.gauge_after(own, rest, sea)

    def until(bar: float, rate: float) -> float:
        return _minute_at(own, read.minute, bar, rate, waypoints, sea)

    careful = rates.high_l_min
    return Rest(
        rates=rates,
        expected_end_bar=end(rates.expected_l_min),
        low_end_bar=end(careful),
        high_end_bar=end(rates.low_l_min),
        turn_min=until(turn_bar, careful),
        likely_turn_min=until(turn_bar, rates.expected_l_min),
        reserve_min=until(reserve_bar, careful),
    )


def _staying(waypoints: Sequence[tuple[float, float]], minute: float) -> tuple[tuple[float, float], ...]:
    """Return the way down as planned and then the depth, until the higher rate at first has worn off."""
    down, depth = waypoints[1]
    return ((0.0, 0.0), (down, depth), (max(minute, down) + SETTLED_AFTER_MIN, depth))


def _minute_at(
    own: Cylinder,
    minute: float,
    bar: float,
    rate: float,
    waypoints: Sequence[tuple[float, float]],
    sea: Sea,
) -> float:
    """Return the minute at which a cylinder read at a minute shows ``bar``, if the diver stays at depth."""
    pieces, depth = rates_along(_staying(waypoints, minute), rate), waypoints[1][1]
    used = consumption.mass_g(profile.cut_at(pieces, minute), sea)
    target = used + consumption.mass_to_gauge(own, bar, sea)
    on_the_way = consumption.minute_at_mass(pieces, target, sea)
    if on_the_way is not None:
        return max(on_the_way, minute)
    grams = rate * consumption.mass_g(profile.segments(((0.0, depth), (1.0, depth)), 1.0), sea)
    return pieces[-1].end_min + (target - consumption.mass_g(pieces, sea)) / grams


def _later(waypoints: Sequence[tuple[float, float]], minute: float) -> tuple[tuple[float, float], ...]:
    """Return the profile with its way up begun no earlier than a minute."""
    depth = waypoints[1][1]
    begins = max(when for when, metres in waypoints if metres == depth)
    if minute <= begins:
        return tuple(waypoints)
    way_up = tuple((when - begins + minute, metres) for when, metres in waypoints if when > begins)
    return (*waypoints[:2], (minute, depth), *way_up)
