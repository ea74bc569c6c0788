"""What a cylinder's gauge should read at the water's edge, foretold from its fill.

A closed cylinder loses nothing by standing: between the fill and the edge its gas only cools or warms
(`cylinder.settled_gauge`, real gas), however long ago the fill was. What is not known is how
warm the gas was under each of the two gauges, so the answer is a band. A reading outside the band by more
than two gauges err is no question of physics any more: a leak, a misread gauge, another cylinder.

Sources: air as in `air`. The temperatures allowed for are our own cautious choice;
that a quick fill leaves gas some 20 to 30 K warmer than the room, and that a cylinder in the sun gets
warmer than the air, is common practice, no source.
"""

from math import sqrt

from app.planning.air import HIGHEST_C, LOWEST_C
from app.planning.breathing import GAUGE_NOISE_BAR
from app.planning.cylinder import settled_gauge
from app.planning.water import STANDARD_SURFACE_BAR

# A thermometer on the shell is off from the gas inside by as much, in K.
SHELL_OFF_K = 3.0
# Gas of a fill whose temperature nobody took: from the coolest of the edge up to this.
HOT_FILL_C = 50.0
# Without a thermometer in the air: how far it may be from the water, in K.
AIR_OFF_K = 10.0
# How much warmer than the air a cylinder gets in the sun, in K.
SUN_K = 10.0
# Two readings by two gauges, nineteen of twenty times.
TWO_GAUGES_BAR = 2 * sqrt(2) * GAUGE_NOISE_BAR


def expected_at_edge(
    fill_gauge_bar: float,
    fill_temp_c: float | None,
    water_temp_c: float,
    air_temp_c: float | None,
    surface_bar: float = STANDARD_SURFACE_BAR,
) -> tuple[float, float]:
    """Return the lowest and highest gauge in bar that the fill explains, gauge errors not counted in.

    The cylinder at the edge is anywhere from the cooler of air and water to the warmer one in the sun.
    fill_temp_c, air_temp_c: None when not measured, which widens the band. Celsius, bar absolute.
    """
    air = (water_temp_c - AIR_OFF_K, water_temp_c + AIR_OFF_K)
    if air_temp_c is not None:
        air = (air_temp_c, air_temp_c)
    coldest, warmest = _known(min(water_temp_c, *air)), _known(max(water_temp_c, *air) + SUN_K)
    if fill_temp_c is None:
        cool_fill, hot_fill = coldest, max(HOT_FILL_C, coldest)
    else:
        cool_fill, hot_fill = _known(fill_temp_c - SHELL_OFF_K), _known(fill_temp_c + SHELL_OFF_K)
    return (
        settled_gauge(fill_gauge_bar, hot_fill, coldest, surface_bar),
        settled_gauge(fill_gauge_bar, cool_fill, warmest, surface_bar),
    )


def off_by_bar(lowest_bar: float, highest_bar: float, read_bar: float) -> float:
    """Return by how much a reading at the edge is outside of what the fill and two gauges' errors explain.

    Under 0: gas is missing. Over 0: there is more than was filled. 0: fill and reading agree.
    """
    if read_bar < lowest_bar - TWO_GAUGES_BAR:
        return read_bar - (lowest_bar - TWO_GAUGES_BAR)
    return max(0.0, read_bar - (highest_bar + TWO_GAUGES_BAR))


def reading_agrees(lowest_bar: float, highest_bar: float, read_bar: float) -> bool:
    """Return whether a reading at the edge is explained by the fill, both ends from `expected_at_edge`."""
    return off_by_bar(lowest_bar, highest_bar, read_bar) == 0


def _known(temp_c: float) -> float:
    """Return the nearest temperature for which the air's density is known."""
    return min(max(temp_c, LOWEST_C), HIGHEST_C)
