"""Filling cylinders: minutes at a compressor, and what a cascade of banks still fills.

Litres are counted dry at 1.01325 bar and 15 C. A compressor's free air delivery is what it takes in, in
L/min; makers often quote the mean of one 10 L cylinder filled from 0 to 200 bar instead, so check which.
A cascade is filled slowly, lowest bank first, everything at one temperature: a fast fill is hotter, and
shows more on the gauge than is left when it has cooled.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from app.planning import air
from app.planning.cylinder import content_litres
from app.planning.water import STANDARD_SURFACE_BAR


@dataclass(frozen=True)
class Bank:
    """A storage cylinder, or several opened together: litres of water volume, gauge in bar."""

    litres: float
    gauge_bar: float


@dataclass(frozen=True)
class Filled:
    """A cylinder after the cascade.

    banks: in the order they were given, with what is left in them. missing_litres: what a compressor must
    still add to reach the target.
    """

    gauge_bar: float
    banks: tuple[Bank, ...]
    missing_litres: float


def litres_to_fill(
    litres: float,
    from_gauge_bar: float,
    to_gauge_bar: float,
    temp_c: float,
    surface_bar: float = STANDARD_SURFACE_BAR,
) -> float:
    """Return the litres of air that take a cylinder from one gauge to a higher one (0 if it is there)."""
    full = content_litres(litres, to_gauge_bar, temp_c, surface_bar)
    return max(0.0, full - content_litres(litres, from_gauge_bar, temp_c, surface_bar))


def charging_minutes(litres_of_air: float, free_air_delivery_l_min: float) -> float:
    """Return the minutes a compressor needs: litres over free air delivery; raises ValueError without any."""
    if free_air_delivery_l_min <= 0:
        raise ValueError("free air delivery must be above 0 L/min")
    return litres_of_air / free_air_delivery_l_min


def cascade(
    banks: Sequence[Bank],
    litres: float,
    gauge_bar: float,
    target_gauge_bar: float,
    temp_c: float,
    surface_bar: float = STANDARD_SURFACE_BAR,
) -> Filled:
    """Fill a cylinder in cascade: from the banks, lowest pressure first, stopping at the target.

    A bank that is not above the cylinder stays closed: gas would flow back.
    """
    held = air.density(gauge_bar + surface_bar, temp_c)
    wanted = air.density(target_gauge_bar + surface_bar, temp_c)
    after = list(banks)
    for place in sorted(range(len(banks)), key=lambda n: banks[n].gauge_bar):
        bank = banks[place]
        stored = air.density(bank.gauge_bar + surface_bar, temp_c)
        if stored <= held or held >= wanted:
            continue
        evened = (bank.litres * stored + litres * held) / (bank.litres + litres)
        reached = min(wanted, evened)
        left = stored - (reached - held) * litres / bank.litres
        after[place] = Bank(bank.litres, air.pressure_of(left, temp_c) - surface_bar)
        held = reached
    return Filled(
        gauge_bar=air.pressure_of(held, temp_c) - surface_bar,
        banks=tuple(after),
        missing_litres=max(0.0, wanted - held) * litres / air.REFERENCE_DENSITY_G_L,
    )
