"""What stands in the gas room and hangs on the kit rail of Harbour Steps."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Cylinder:
    """One cylinder. visual, pressure: months since the last look inside and the last pressure test."""

    number: str
    litres: float
    working_bar: float
    material: str
    visual: int
    pressure: int


CYLINDERS = (
    *(Cylinder(f"S{n:02d}", 12, 232, "steel", 3 + n % 7, 20 + n) for n in range(1, 11)),
    *(Cylinder(f"A{n:02d}", 11.1, 207, "aluminium", 2 + n % 6, 15 + n) for n in range(1, 7)),
    *(Cylinder(f"T{n:02d}", 10, 232, "steel", 4 + n % 5, 30 + n) for n in range(1, 6)),
    # One inspected too long ago, one due soon, one small for children.
    Cylinder("S11", 12, 232, "steel", 13, 40),
    Cylinder("A07", 11.1, 207, "aluminium", 11, 33),
    Cylinder("C01", 7, 232, "steel", 5, 12),
)


@dataclass(frozen=True)
class Item:
    """One piece of kit."""

    kind: str
    number: str
    size: str
    thickness_mm: float | None = None


SUITS = ("130", "140", "150", "XS", "XS", "S", "S", "S", "M", "M", "M", "M", "L", "L", "L", "XL", "XL")
JACKETS = ("XXS", "XS", "XS", "S", "S", "S", "M", "M", "M", "M", "L", "L", "L", "XL")
BOOTS = ("34", "36", "36", "37", "38", "38", "39", "40", "40", "41", "42", "42", "43", "44", "45", "46")
KIT = (
    *(Item("suit", f"W{n:02d}", size, 7) for n, size in enumerate(SUITS, 1)),
    *(Item("jacket", f"J{n:02d}", size) for n, size in enumerate(JACKETS, 1)),
    *(Item("boots", f"B{n:02d}", size) for n, size in enumerate(BOOTS, 1)),
    *(Item("fins", f"F{n:02d}", size) for n, size in enumerate(BOOTS, 1)),
    *(Item("mask", f"M{n:02d}", ("small", "medium", "large")[n % 3]) for n in range(1, 25)),
    *(Item("regulator", f"R{n:02d}", "") for n in range(1, 17)),
)
