"""What the emergency kit at the water holds, and how much oxygen a cylinder of it gives.

The gate that keeps people ashore while the kit is not complete asks these same items.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from math import floor

REVISED = date(2026, 11, 25)
"""When the list was last looked through."""

_FRANCE = "France, Code du sport A322-78"
_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class KitItem:
    """One thing of the emergency kit. check: what "there and working" means, read aloud at the check."""

    key: str
    name: str
    check: str
    source: str


OXYGEN = KitItem("oxygen", "Oxygen", "Open the valve: the regulator flows and the mask fits.", _FRANCE)

ITEMS: tuple[KitItem, ...] = (
    OXYGEN,
    KitItem("rescue_mask", "Pocket mask or bag and mask", "Whole and clean; a bag has three sizes.", _FRANCE),
    KitItem("defibrillator", "Defibrillator", "Ready light on, pads and battery in date.", _PRACTICE),
    KitItem("first_aid", "First aid box", "Sealed, or counted against its own list.", _PRACTICE),
    KitItem("call_for_help", "Radio or phone", "Charged, and a test call was answered.", _FRANCE),
    KitItem("recall", "Recall device", "Heard or seen from the entry point.", _FRANCE),
    KitItem("spare_air", "Spare air cylinder with regulator", "Full, valve open, it breathes.", _FRANCE),
    KitItem("water", "Drinking water", "Fresh and closed.", _FRANCE),
    KitItem("blanket", "Thermal blanket", "At least one, unopened or dry.", _FRANCE),
)  # fmt: skip
"""Every item in the order of the check: what would be missed first comes first."""

KEYS: tuple[str, ...] = tuple(item.key for item in ITEMS)


def missing(present: Collection[str]) -> tuple[KitItem, ...]:
    """Return the items that were not found there and working; a word that is no item counts for nothing."""
    return tuple(item for item in ITEMS if item.key not in present)


def oxygen_litres(bar: float, cylinder_litres: float) -> float:
    """Return how many litres of oxygen a cylinder gives: gauge bar x litres of water capacity.

    Plain multiplication, as done at the kit. Oxygen's compressibility is below 1 at these pressures, so a
    cylinder holds a little more than this figure, never less.
    Raises ValueError for a pressure or a size below zero.
    """
    if bar < 0 or cylinder_litres < 0:
        raise ValueError("pressure and size of an oxygen cylinder cannot be below zero")
    return bar * cylinder_litres


def oxygen_minutes(litres: float, flow_l_min: float) -> int:
    """Return the whole minutes that oxygen lasts, litres at L/min; raises ValueError without a flow."""
    if flow_l_min <= 0 or litres < 0:
        raise ValueError("minutes of oxygen need a flow above zero and no litres below it")
    # Whole minutes within rounding noise: 300 L at 15 L/min are 20 min and not 19.
    return floor(litres / flow_l_min + 1e-9)
