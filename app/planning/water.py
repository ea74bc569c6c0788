"""Pressure from depth in still water of one density, and the pressure of the air above it.

p(d) = surface pressure + density * g * d. Depth in metres, pressure in bar absolute, density in kg/m3.
Sources: EN 13319 (density 1019.7 kg/m3, so that 10 m are 1 bar; value from memory), ISO 2533 for g and
for the pressure at the surface (constants from memory).
"""

STANDARD_SURFACE_BAR = 1.01325
GRAVITY_M_S2 = 9.80665
PASCAL_PER_BAR = 1e5
PRESSURE_SOURCE = "hydrostatics; g from ISO 2533"
# ISO 2533 below 11,000 m: (1 - lapse * altitude) ** exponent.
LAPSE_PER_M = 2.25577e-5
EXPONENT = 5.25588
# From the shore of the Dead Sea to the highest lakes that anybody dives in.
LOWEST_M, HIGHEST_M = -450.0, 4000.0


def pressure_at(depth_m: float, density_kg_m3: float, surface_bar: float = STANDARD_SURFACE_BAR) -> float:
    """Return absolute pressure in bar at a depth in metres."""
    return surface_bar + density_kg_m3 * GRAVITY_M_S2 * depth_m / PASCAL_PER_BAR


def surface_bar_at(altitude_m: float) -> float:
    """Return the pressure of the standard atmosphere (ISO 2533) in bar at a height above the sea in metres.

    Weather moves it by about 0.03 bar. Raises ValueError under -450 m or over 4,000 m.
    """
    if not LOWEST_M <= altitude_m <= HIGHEST_M:
        raise ValueError(f"altitude must be between {LOWEST_M:g} and {HIGHEST_M:g} m")
    return float(STANDARD_SURFACE_BAR * (1 - LAPSE_PER_M * altitude_m) ** EXPONENT)
