"""What is breathed in at depth on air: partial pressures, gas density, and carbon monoxide's weight.

Dry air: 20.95 % oxygen, 78.08 % nitrogen (US Standard Atmosphere 1976). On air to 12 m neither oxygen nor
narcosis nor gas density binds; carbon monoxide does matter, because its pressure rises with depth.
"""

from app.planning import air

OXYGEN_FRACTION = 0.2095
NITROGEN_FRACTION_DRY = 0.7808


def oxygen_bar(ambient_bar: float) -> float:
    """Return the partial pressure of oxygen in dry air in bar at an absolute pressure in bar."""
    return OXYGEN_FRACTION * ambient_bar


def nitrogen_bar(ambient_bar: float) -> float:
    """Return the partial pressure of nitrogen in dry air in bar, argon not counted in."""
    return NITROGEN_FRACTION_DRY * ambient_bar


def gas_density_g_l(ambient_bar: float, temp_c: float) -> float:
    """Return the density of the air breathed in g/L at an absolute pressure and temperature."""
    return air.density(ambient_bar, temp_c)


def acts_like_ppm(measured_ppm: float, ambient_bar: float, surface_bar: float) -> float:
    """Return the equivalent share at the surface in ppm, pressing as hard as the measured one below."""
    if surface_bar <= 0:
        raise ValueError("surface pressure must be above 0 bar")
    return measured_ppm * ambient_bar / surface_bar
