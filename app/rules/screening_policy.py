"""The numbers a health screening works with: shipped ones, or those in force in a shop."""

import math
from dataclasses import dataclass

from app.rules import limits as L
from app.rules.resolve import InForce, Limits, limits_for, strictest


@dataclass(frozen=True, slots=True)
class ScreeningPolicy:
    """Ages in whole years on the day of the dive, validity in days, flying in hours after surfacing.

    ``child_letter_age``: younger guests need a doctor's letter that covers AGE-CHILD. 0 is off; 16 follows
    the SPUMS paediatric statement 2024, by which ages 10 to 15 are assessed by a diving doctor.
    """

    youngest_confined: float
    youngest_open_water: float
    majority_age: float
    history_valid_days: float
    no_fly_h: float
    no_fly_advise_h: float
    # SPUMS paediatric statement 2024 (abstract) for the upper edge; a talk for each is our own choice.
    child_under_age: float = 16
    # Common practice, no source.
    talk_from_age: float = 65
    child_letter_age: float = 0


def policy_in_force(limits: Limits) -> ScreeningPolicy:
    """Return the policy for the limits that bind; a limit without a value lets nobody past it."""
    return ScreeningPolicy(
        youngest_confined=_binding(limits[L.AGE_MIN_POOL]),
        youngest_open_water=_binding(limits[L.AGE_MIN_OPEN_WATER]),
        majority_age=_binding(limits[L.MAJORITY_AGE]),
        history_valid_days=_binding(limits[L.DECLARATION_VALID_FOR]),
        no_fly_h=_binding(strictest(limits[L.NO_FLY_SINGLE], limits[L.NO_FLY_REPEAT])),
        no_fly_advise_h=_binding(limits[L.NO_FLY_ADVISE]),
        child_letter_age=_binding(limits[L.CHILD_LETTER_AGE]),
    )


def _binding(limit: InForce) -> float:
    """The number that binds, or one that nobody meets while the limit has no value."""
    if limit.number is not None:
        return limit.number
    return -math.inf if L.ALL[limit.key].direction == "max" else math.inf


# What binds while no shop, preset or law has spoken: the policy of the `daybuoy screen` command.
SHIPPED = policy_in_force(limits_for(()))
