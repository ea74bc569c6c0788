"""What a check in the water says of the lead, and what many checks say of a suit.

The check: at the surface, jacket and lungs emptied, the guest hangs at eye level. Floats: one more
kilogram; sinks: one less; level: right (common practice, no source). It is made with a full cylinder and
emptied lungs; the sum is made for a cylinder near its reserve and half-full lungs. Both differ by about the
same 2 kg (gas of a 12 L cylinder; breath that can still be let out, 1.5 to 2 L, from memory), so a check at
the start may stand for the end.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

FLOATS, LEVEL, SINKS = "floats", "level", "sinks"
MORE_KG = {FLOATS: 1, LEVEL: 0, SINKS: -1}
# How far suits of one kind stray from the sum, and guests in the same suit from each other, in kg
# (standard deviations; our own, to be put right once the shop has checks enough).
SUIT_SPREAD_KG, GUEST_SPREAD_KG = 0.8, 1.6
MOST_KG = 2.0


@dataclass(frozen=True)
class Correction:
    """What a suit has wanted beside the sum: kg more (+) or less (-), and from how many checks."""

    kg: float
    checks: int


def right_kg(given_kg: float, seen: str) -> float:
    """Return the lead that was right after a check, in kg; never below 0. Raises KeyError."""
    return max(0.0, given_kg + MORE_KG[seen])


def suit_correction(differences_kg: Sequence[float]) -> Correction:
    """Return what to add for a suit from (right - suggested by the sum) of each guest checked in it.

    The mean, shrunk: with b and w the squared spreads of suits and of guests and n checks, b / (b + w / n)
    of it counts. One check moves it by a fifth, nine by seven tenths; never more than 2 kg.
    """
    n = len(differences_kg)
    if n == 0:
        return Correction(0.0, 0)
    between, within = SUIT_SPREAD_KG**2, GUEST_SPREAD_KG**2
    shrunk = sum(differences_kg) / n * between / (between + within / n)
    return Correction(max(-MOST_KG, min(MOST_KG, shrunk)), n)


def for_this_dive(right_then_kg: float, sum_then_kg: float, sum_now_kg: float) -> int:
    """Return whole kilograms for a guest who was checked before; never below 0.

    What was right then, moved by how much the sum (before rounding) moved: another suit, cylinder or water.
    Rounded to the nearest kilogram, as the check was: what was right stays right when nothing changed.
    """
    return max(0, floor(right_then_kg + sum_now_kg - sum_then_kg + 0.5 + 1e-9))
