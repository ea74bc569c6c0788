"""Units that people read: exact factors, and rounding to the careful side.

Records stay in bar, m, °C, kg and L. What a person reads is worked out here and nowhere else. Factors follow
from definitions: 1 ft = 0.3048 m, 1 in = 0.0254 m and 1 lb = 0.45359237 kg (international yard and pound
agreement, 1959), standard gravity 9.80665 m/s² (3rd CGPM, 1901), 1 bar = 100 000 Pa; the pound-force per
square inch is made of them.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, floor

from app.planning.water import GRAVITY_M_S2

INCH_M = 0.0254
FOOT_M = 0.3048
POUND_KG = 0.45359237
PSI_PA = POUND_KG * GRAVITY_M_S2 / INCH_M**2
BAR_PA = 100_000.0
CUBIC_FOOT_L = FOOT_M**3 * 1000
# Noise of a float: a figure this near to a step is on it.
NOISE = 1e-9


class Way(StrEnum):
    """Which way a figure is rounded. DOWN for what there is and what may be, UP for what is needed."""

    DOWN = "down"
    UP = "up"
    NEAR = "near"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit that can be read. One of ``base`` is ``per_base`` of it, counted from ``zero``.

    step: the finest step in which a page shows it; also_typed: other ways to write it.
    """

    name: str
    base: str
    per_base: float
    step: float
    zero: float = 0.0
    also_typed: tuple[str, ...] = ()

    def read(self, value: float) -> float:
        """Return a value of the base unit in this unit, unrounded."""
        return value * self.per_base + self.zero

    def kept(self, value: float) -> float:
        """Return a value read in this unit in the base unit, unrounded."""
        return (value - self.zero) / self.per_base

    def rounded(self, value: float, way: Way = Way.NEAR, step: float | None = None) -> float:
        """Return a value of the base unit in this unit, rounded to ``step`` (else the unit's own)."""
        return round_to(self.read(value), step or self.step, way)


_ALL = (
    Unit("bar", "bar", 1.0, 1.0),
    Unit("psi", "bar", BAR_PA / PSI_PA, 10.0),
    Unit("m", "m", 1.0, 0.1, also_typed=("metres", "meters")),
    Unit("ft", "m", 1 / FOOT_M, 1.0, also_typed=("feet", "'")),
    Unit("°C", "°C", 1.0, 0.1, also_typed=("c",)),
    Unit("°F", "°C", 9 / 5, 1.0, zero=32.0, also_typed=("f",)),
    Unit("kg", "kg", 1.0, 0.1),
    Unit("lb", "kg", 1 / POUND_KG, 0.1, also_typed=("lbs",)),
    Unit("L", "L", 1.0, 1.0),
    Unit("ft³", "L", 1 / CUBIC_FOOT_L, 0.1, also_typed=("cu ft", "ft3")),
)
UNITS = {unit.name: unit for unit in _ALL}
"""Every unit that can be read, by name."""
BASES = tuple(unit.name for unit in _ALL if unit.name == unit.base)


@dataclass(frozen=True, slots=True)
class AsRead:
    """A figure as somebody read it, with its unit, and in the unit that records keep."""

    base: float
    value: float
    unit: str

    @classmethod
    def as_kept(cls, value: float, base: str = "bar") -> "AsRead":
        """Return a figure that was read in the unit that records keep."""
        return cls(value, value, base)


@dataclass(frozen=True, slots=True)
class Units:
    """The units that one person reads: names of UNITS, each instead of its base unit."""

    other: frozenset[str] = frozenset()

    @classmethod
    def of(cls, words: Iterable[str]) -> "Units":
        """Return the units of these words; words that are no other unit are left out."""
        return cls(frozenset(word for word in words if word in UNITS and word not in BASES))

    def of_base(self, base: str) -> Unit:
        """Return the unit in which figures kept in ``base`` are read; KeyError for an unknown base."""
        return next((UNITS[name] for name in self.other if UNITS[name].base == base), UNITS[base])

    def words(self) -> str:
        """Return these units as they are kept with a person: "metric", or names with spaces between."""
        return " ".join(name for name in UNITS if name in self.other) or "metric"


METRIC = Units()
EVERY_OTHER = Units(frozenset(UNITS) - frozenset(BASES))


def round_to(value: float, step: float, way: Way) -> float:
    """Return a number rounded to a multiple of a step; one that lies on a step stays there."""
    steps = value / step
    noise = NOISE * max(1.0, abs(steps))
    if way is Way.DOWN:
        count = floor(steps + noise)
    elif way is Way.UP:
        count = ceil(steps - noise)
    else:
        count = floor(steps + 0.5 + noise)
    # 3 x 0.1 is not 0.3: a multiple of a step below 1 is cut to the step's own decimals.
    return round(count * step, 9)


def other_units(base: str) -> tuple[Unit, ...]:
    """Return the units in which a figure of this base may also be read."""
    return tuple(unit for unit in _ALL if unit.base == base and unit.name != base)


def unit_typed(word: str, base: str) -> Unit | None:
    """Return the unit that somebody wrote behind a number; None for one that does not fit."""
    said = word.strip().casefold()
    for unit in _ALL:
        if unit.base == base and said in {unit.name.casefold(), *unit.also_typed}:
            return unit
    return None
