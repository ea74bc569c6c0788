"""What the shop decides about a plan of fills: how it fills, what a slot asks for, and the words for it."""

from math import ceil

from app.planning.air import HIGHEST_C
from app.planning.fill_plan import Way
from app.rules import limits as L
from app.rules.people import Where
from app.rules.resolve import Limits


def way_of(free_air_l_min: float | None, room_c: float, limits: Limits) -> Way:
    """Return how the shop fills: delivery in L/min (None: not known), temperatures in °C, times in minutes.

    A temperature without a value counts as the warmest that real air is reckoned for.
    """
    gas = limits[L.FILL_GAS_TEMP].number
    return Way(
        free_air_l_min=free_air_l_min,
        gas_c=HIGHEST_C if gas is None else min(gas, HIGHEST_C),
        cooling_min=limits[L.FILL_COOLING_MINUTES].number or 0.0,
        handling_min=limits[L.FILL_HANDLING_MINUTES].number or 0.0,
        room_c=room_c,
    )


def guides_to_choose(guests: int, where: Where, limits: Limits) -> int:
    """Return how many guides guests without a group will need, each with a cylinder, in good water."""
    ratio = limits[L.RATIO_OPEN_WATER_GOOD if where == "open" else L.RATIO_CONFINED].number
    return guests if ratio is None or ratio < 1 else ceil(guests / ratio)


def least_bar(where: Where, limits: Limits) -> float | None:
    """Return the least start pressure in this water, bar gauge; None while no value is set."""
    rule = L.START_PRESSURE_MIN if where == "open" else L.START_PRESSURE_MIN_CONFINED
    return limits[rule].number


def say_short(slot: str, clock: str, missing: int, late: int, earliest: str | None) -> str:
    """Return the sentence for a slot that gets too few cylinders, or gets them late; "" when it is held.

    slot: "13:30 Long Jetty"; clock: its start; earliest: clock time at which the last one is ready.
    """
    if not missing and not late:
        return ""
    count = f"{_cylinders(missing + late)} short for {clock}."
    if not missing:
        return f"{count} The earliest is {earliest}."
    if not late:
        return f"{count} Nothing else can be filled for {slot}."
    return f"{count} {_cylinders(late)} can be ready at {earliest}, and nothing else can be filled."


def _cylinders(count: int) -> str:
    return "1 cylinder" if count == 1 else f"{count} cylinders"
