"""Pressure from depth, and back, in still water of one density.

p(d) = surface pressure + density * g * d. Depth in metres, pressure in bar absolute, density in kg/m3.
Sources: EN 13319 (density 1019.7 kg/m3, so that 10 m are 1 bar; value from memory), ISO 2533 for g and
for the pressure at the surface (constants from memory).
"""

STANDARD_SURFACE_BAR = 1.01325
GRAVITY_M_S2 = 9.80665
PASCAL_PER_BAR = 1e5


def pressure_at(depth_m: float, density_kg_m3: float, surface_bar: float = STANDARD_SURFACE_BAR) -> float:
    """Return absolute pressure in bar at a depth in metres."""
    return surface_bar + density_kg_m3 * GRAVITY_M_S2 * depth_m / PASCAL_PER_BAR


def depth_at(pressure_bar: float, density_kg_m3: float, surface_bar: float = STANDARD_SURFACE_BAR) -> float:
    """Return the depth in metres at which the absolute pressure in bar is found."""
    return (pressure_bar - surface_bar) * PASCAL_PER_BAR / (density_kg_m3 * GRAVITY_M_S2)
