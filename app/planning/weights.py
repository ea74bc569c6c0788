"""How much lead: Archimedes on guest, suit, cylinder and lead, for the end of the dive.

Net lift in kg = water density * total volume - total mass. The lead must make the whole sink with the
gas left at the end of the dive and an empty jacket. Suit: area after Mosteller (from memory),
sqrt(height * mass / 3600) m2, times thickness, times the share of the body that the suit covers.
Bodies differ: the figure is where to begin; the check at the surface decides.
"""

from dataclasses import dataclass
from math import ceil, sqrt

from app.planning.air import density
from app.planning.water import STANDARD_SURFACE_BAR

SUIT_COVERS = 0.9
FOAM_DENSITY_KG_L = 0.2
METAL_DENSITY_KG_L = {"steel": 7.85, "aluminium": 2.70}
# Mass of the bare shell for each litre of cylinder in kg, from memory: weigh your own.
SHELL_KG_PER_LITRE = {"steel": 1.2, "aluminium": 1.28}
VALVE_KG = 0.8
LEAD_DENSITY_KG_L = 11.34
# Jacket, mask, fins, regulator together, in kg of lift (common practice, no source).
KIT_LIFT_KG = 0.5
# A beginner breathes high and moves (common practice, no source).
BEGINNER_KG = 1.0


@dataclass(frozen=True)
class Lead:
    """A suggestion: whole kilograms, and each step of how it came about as (what, kg of lift)."""

    kg: int
    steps: tuple[tuple[str, float], ...]


def suit_litres(height_cm: float, mass_kg: float, thickness_mm: float) -> float:
    """Return the volume of a full neoprene suit in litres."""
    return sqrt(height_cm * mass_kg / 3600) * SUIT_COVERS * thickness_mm


def cylinder_lift_kg(
    litres: float, material: str, gauge_bar: float, water_density_kg_m3: float, temp_c: float
) -> float:
    """Return how much a cylinder with valve lifts (+) or pulls (-) in water, in kg, at a gauge pressure."""
    shell = SHELL_KG_PER_LITRE[material] * litres
    outside = litres + shell / METAL_DENSITY_KG_L[material]
    gas = litres * density(gauge_bar + STANDARD_SURFACE_BAR, temp_c) / 1000
    return outside * water_density_kg_m3 / 1000 - shell - VALVE_KG - gas


def suggest(
    height_cm: float,
    mass_kg: float,
    suit_mm: float,
    cylinder_litres: float,
    cylinder_material: str,
    water_density_kg_m3: float,
    water_temp_c: float,
    end_gauge_bar: float = 50.0,
) -> Lead:
    """Suggest lead in whole kilograms, rounded up: a diver who cannot stay down struggles.

    Never below 0. Units: cm, kg, mm, litres, kg/m3, Celsius, bar.
    """
    water = water_density_kg_m3 / 1000
    # A body with half-full lungs hangs level in fresh water (common practice, no source).
    body = mass_kg * (water - 1)
    foam = suit_litres(height_cm, mass_kg, suit_mm)
    suit = foam * (water - FOAM_DENSITY_KG_L)
    cylinder = cylinder_lift_kg(
        cylinder_litres, cylinder_material, end_gauge_bar, water_density_kg_m3, water_temp_c
    )
    steps = (
        ("body with half-full lungs", body),
        (f"suit, {suit_mm:g} mm, {foam:.1f} L of foam", suit),
        (f"cylinder, {cylinder_litres:g} L {cylinder_material} at {end_gauge_bar:g} bar", cylinder),
        ("jacket, mask, fins, regulator", KIT_LIFT_KG),
        ("a beginner's full breaths", BEGINNER_KG),
    )
    lift = sum(kg for _, kg in steps)
    # A kilogram of lead displaces water and so pulls a little less than its own weight.
    pull_per_kg = 1 - water / LEAD_DENSITY_KG_L
    return Lead(max(0, ceil(lift / pull_per_kg - 1e-9)), steps)
