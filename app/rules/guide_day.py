"""A guide's day of dives: is what was dived known, and does it leave enough for the next dive?

ZH-L16C with the gradient factor in force binds for guides and assistants; the navy table is a second opinion
that asks for the guide's named acknowledgement where it is stricter (`app.rules.plan_basis`).
"""

from enum import StrEnum

from app.planning.dive_day import Budget
from app.rules import limits as L
from app.rules.decision import Decision, all_of
from app.rules.measure import must
from app.rules.people import StaffFacts
from app.rules.resolve import Limits


class Left(StrEnum):
    """What a diver's day leaves for a dive."""

    ENOUGH = "enough"
    TABLE_ASKS = "the navy table asks"
    NOT_ENOUGH = "not enough"


def what_is_left(budget: Budget, minutes: float, limits: Limits) -> Left:
    """Is there time for a dive of this many minutes until the way up, with the margin that has to be left?"""
    margin = limits[L.NO_STOP_LEFT_MIN].number
    if margin is None or (budget.zhl_min is not None and minutes + margin > budget.zhl_min):
        return Left.NOT_ENOUGH
    if budget.navy_min is not None and minutes + margin > budget.navy_min:
        return Left.TABLE_ASKS
    return Left.ENOUGH


def dives_are_known(staff: tuple[StaffFacts, ...]) -> Decision:
    """Has everybody who leads or helps said today which other dives there were? Silence is no "none"."""
    return all_of(
        must(
            L.STAFF_DIVES_SAID,
            person.dives_said,
            f"Nobody knows whether {person.name} dived elsewhere in the last 24 h. Ask, and write it down.",
            found="not said",
            needed="each dive, or none",
            who=person.name,
        )
        for person in staff
    )
