"""How much lead: Archimedes on guest, suit, cylinder and lead, for the end of the dive.

Net lift in kg = water density * volume - mass, for each body by itself. The lead must hold the sum of them
down with the gas left at the end of the dive, an empty jacket and the suit as thick as at the surface.
Bodies differ: the figure is where to begin; the check in the water decides (`weight_checks`).

Sources: body surface after Mosteller 1987 (from memory); neoprene 200 kg/m3, of which gas 80 % (our own,
170 to 250 kg/m3 from memory); share of the body that a suit covers (our own, after the rule of nines);
densities of steel, aluminium, brass and lead (handbook values, from memory).
"""

from dataclasses import dataclass
from math import ceil, sqrt

from app.planning.air import density
from app.planning.water import STANDARD_SURFACE_BAR, pressure_at

# Share of the body's surface: all but head, hands and feet; trunk and half the limbs; a full suit and the
# trunk (36 %) once more.
COVERS = {"full": 0.9, "shorty": 0.5, "two-piece": 1.26}
FOAM_DENSITY_KG_L = 0.2
FOAM_GAS_SHARE = 0.8
METAL_DENSITY_KG_L = {"steel": 7.85, "aluminium": 2.70}
# Mass of the bare shell for each litre of cylinder in kg, from memory: weigh your own.
SHELL_KG_PER_LITRE = {"steel": 1.2, "aluminium": 1.28}
VALVE_KG, BRASS_DENSITY_KG_L = 0.8, 8.5
LEAD_DENSITY_KG_L = 11.34
# Where the suit is looked at once more, in m: the usual safety stop.
STOP_M = 5.0
# Jacket, mask, fins, regulator together, in kg of lift (common practice, no source).
KIT_LIFT_KG = 0.5
# A beginner breathes high and moves (common practice, no source).
BEGINNER_KG = 1.0


@dataclass(frozen=True)
class Body:
    """Who dives: height in cm, mass in kg."""

    height_cm: float
    mass_kg: float

    @property
    def surface_m2(self) -> float:
        """Body surface in m2 after Mosteller."""
        return sqrt(self.height_cm * self.mass_kg / 3600)


@dataclass(frozen=True)
class Suit:
    """A neoprene suit: thickness in mm, and how it covers ("full", "shorty" or "two-piece")."""

    thickness_mm: float
    cover: str = "full"


@dataclass(frozen=True)
class Tank:
    """A cylinder: litres, "steel" or "aluminium", its gauge in bar at the start and at the end."""

    litres: float
    material: str
    full_gauge_bar: float
    end_gauge_bar: float


@dataclass(frozen=True)
class Water:
    """The water: density in kg/m3, temperature in C, pressure at the surface in bar absolute."""

    density_kg_m3: float
    temp_c: float
    surface_bar: float = STANDARD_SURFACE_BAR

    @property
    def kg_per_litre(self) -> float:
        """What a litre of it weighs, in kg."""
        return self.density_kg_m3 / 1000


@dataclass(frozen=True)
class Step:
    """One step of the sum: what it is, how it was worked out, and its lift (+) or pull (-) in kg."""

    what: str
    how: str
    kg: float


@dataclass(frozen=True)
class Lead:
    """A suggestion.

    kg: whole kilograms, never below 0. exact_kg: before rounding, below 0 for a diver who sinks without.
    steps: each body's lift. heavier_at_start_kg: the gas that will be breathed. suit_lost_kg: lift that the
    suit loses at most at 5 m.
    """

    kg: int
    exact_kg: float
    steps: tuple[Step, ...]
    heavier_at_start_kg: float
    suit_lost_kg: float


def suit_litres(body: Body, suit: Suit) -> float:
    """Return the volume of a neoprene suit at the surface in litres: m2 times mm."""
    return body.surface_m2 * COVERS[suit.cover] * suit.thickness_mm


def suit_lift_kg(body: Body, suit: Suit, water: Water, depth_m: float = 0.0) -> float:
    """Return the lift of a suit in kg at a depth in metres.

    The foam's gas is squeezed as a free gas would be: stiff foam loses less, so below the surface the true
    lift is at least this.
    """
    litres = suit_litres(body, suit)
    squeezed = water.surface_bar / pressure_at(depth_m, water.density_kg_m3, water.surface_bar)
    there = litres * (1 - FOAM_GAS_SHARE + FOAM_GAS_SHARE * squeezed)
    return there * water.kg_per_litre - litres * FOAM_DENSITY_KG_L


def cylinder_lift_kg(
    litres: float, material: str, gauge_bar: float, water: Water, shell_kg: float | None = None
) -> float:
    """Return how much a cylinder with valve lifts (+) or pulls (-) in water, in kg, at a gauge pressure.

    shell_kg: the bare shell as weighed; None for what such a shell usually weighs.
    """
    shell = SHELL_KG_PER_LITRE[material] * litres if shell_kg is None else shell_kg
    outside = litres + shell / METAL_DENSITY_KG_L[material] + VALVE_KG / BRASS_DENSITY_KG_L
    gas = litres * density(gauge_bar + water.surface_bar, water.temp_c) / 1000
    return outside * water.kg_per_litre - shell - VALVE_KG - gas


def body_lift_kg(body: Body, water: Water) -> float:
    """Return the lift of a body that hangs level in fresh water with half-full lungs (common practice)."""
    return body.mass_kg * (water.kg_per_litre - 1)


def pull_per_kg(water: Water) -> float:
    """Return how much a kilogram of lead pulls under water, in kg: it displaces some itself."""
    return 1 - water.kg_per_litre / LEAD_DENSITY_KG_L


def whole_kg(exact_kg: float) -> int:
    """Round lead up to whole kilograms, never below 0: a diver who cannot stay down struggles."""
    return max(0, ceil(exact_kg - 1e-9))


def suggest(body: Body, suit: Suit | None, tank: Tank, water: Water) -> Lead:
    """Suggest lead for the end of the dive; suit None for a guest without one.

    Raises KeyError for an unknown material or cover.
    """
    lifts = [_body_step(body, water)]
    lost = 0.0
    if suit is not None:
        lifts.append(_suit_step(body, suit, water))
        lost = suit_lift_kg(body, suit, water) - suit_lift_kg(body, suit, water, STOP_M)
    end = cylinder_lift_kg(tank.litres, tank.material, tank.end_gauge_bar, water)
    full = cylinder_lift_kg(tank.litres, tank.material, tank.full_gauge_bar, water)
    lifts += [
        Step(
            f"cylinder, {tank.litres:g} L {tank.material} at {tank.end_gauge_bar:g} bar",
            f"shell, valve and gas in water; at {tank.full_gauge_bar:g} bar it would be {_signed(full)} kg",
            end,
        ),
        Step("jacket, mask, fins, regulator", "common practice, no source", KIT_LIFT_KG),
        Step("a beginner's full breaths", "common practice, no source", BEGINNER_KG),
    ]
    pull = pull_per_kg(water)
    exact = sum(step.kg for step in lifts) / pull
    return Lead(whole_kg(exact), exact, tuple(lifts), end - full, lost)


def _body_step(body: Body, water: Water) -> Step:
    how = f"{body.mass_kg:g} kg × ({water.kg_per_litre:.3f} − 1) kg/L: level in fresh water"
    return Step("body with half-full lungs", how, body_lift_kg(body, water))


def _suit_step(body: Body, suit: Suit, water: Water) -> Step:
    foam = suit_litres(body, suit)
    how = (
        f"√({body.height_cm:g} cm × {body.mass_kg:g} kg ÷ 3600) = {body.surface_m2:.2f} m² of skin; "
        f"× {COVERS[suit.cover]:g} covered × {suit.thickness_mm:g} mm = {foam:.1f} L of foam; "
        f"× ({water.kg_per_litre:.3f} − {FOAM_DENSITY_KG_L:.2f}) kg/L"
    )
    return Step(f"suit, {suit.thickness_mm:g} mm, {suit.cover}", how, suit_lift_kg(body, suit, water))


def _signed(kg: float) -> str:
    return f"{kg:+.1f}".replace("-", "−")
