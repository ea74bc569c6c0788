"""What a rigid cylinder holds and what its gauge shows when it cools.

Gauge pressure in bar = absolute - surface pressure. Volumes in litres, masses in grams. Walls are taken
as rigid: cooling by 30 K shrinks real ones by 0.1 to 0.2 %, which would add 0.3 to 0.6 bar.
"""

from app.planning import air
from app.planning.water import STANDARD_SURFACE_BAR


def gas_mass_g(
    litres: float, gauge_bar: float, temp_c: float, surface_bar: float = STANDARD_SURFACE_BAR
) -> float:
    """Return the mass of air in grams in a cylinder at a gauge pressure and temperature."""
    return litres * air.density(gauge_bar + surface_bar, temp_c)


def content_litres(
    litres: float, gauge_bar: float, temp_c: float, surface_bar: float = STANDARD_SURFACE_BAR
) -> float:
    """Return all gas down to vacuum in litres of dry air at 1.01325 bar and 15 C."""
    return gas_mass_g(litres, gauge_bar, temp_c, surface_bar) / air.REFERENCE_DENSITY_G_L


def settled_gauge(
    fill_gauge_bar: float, fill_temp_c: float, then_temp_c: float, surface_bar: float = STANDARD_SURFACE_BAR
) -> float:
    """Return the gauge after a closed cylinder cooled or warmed: constant volume, so constant density."""
    return air.pressure_of(air.density(fill_gauge_bar + surface_bar, fill_temp_c), then_temp_c) - surface_bar
