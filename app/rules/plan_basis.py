"""What a plan rests on: which limits it uses, what has to be known first, and when an issued one is stale."""

from collections.abc import Mapping
from typing import Any

from app.rules import limits as L
from app.rules.decision import ALLOWED, Decision, Reason, refuse
from app.rules.limits import Limit
from app.rules.measure import must
from app.rules.resolve import Limits, show

USED: tuple[Limit, ...] = (
    L.DEPTH_MAX_OPEN_WATER,
    L.DEPTH_PLAN_DEFAULT,
    L.DEPTH_MAX_CONFINED,
    L.BOTTOM_TIME_MAX,
    L.ASCENT_RATE_MAX,
    L.SAFETY_STOP_MINUTES,
    L.SAFETY_STOP_DEPTH,
    L.SAFETY_STOP_FROM_DEPTH,
    L.NO_STOP_LEFT_MIN,
    L.NITROGEN_GRADIENT_FACTOR,
    L.TURN_PRESSURE,
    L.END_PRESSURE_MIN,
    L.RESERVE_ROUNDING,
    L.SHARING_DIVERS,
    L.SHARING_STRESS_FACTOR,
    L.SHARING_REACTION_MINUTES,
    L.SHARING_RESIDUAL,
)
"""The limits that change a plan's figures or decide whether it may be issued."""

PARTS: Mapping[str, str] = {
    "people": "people",
    "cylinders": "cylinders",
    "water": "the water",
    "dive": "depth or time",
    "earlier": "earlier dives of the day",
    "limits": "limits",
}
"""What an issued plan rests on, and how a change of it is named."""


def limits_used(limits: Limits) -> dict[str, str]:
    """The values that a plan uses, by key."""
    return {limit.key: show(limits[limit].value) for limit in USED}


def changed_parts(issued: Mapping[str, Any], now: Mapping[str, Any]) -> tuple[str, ...]:
    """Name every part that is not what it was when the plan was issued."""
    return tuple(words for part, words in PARTS.items() if issued.get(part) != now.get(part))


def cylinder_known(name: str, number: str | None, bar: float | None) -> Decision:
    """Has this diver a cylinder whose pressure is known? number: as painted on it; bar: gauge."""
    if number is None:
        return must(
            L.CYLINDER_GIVEN,
            False,
            f"{name} has no cylinder. Give one in the gas room.",
            found="none",
            needed="a cylinder",
            who=name,
        )
    return must(
        L.PRESSURE_READ,
        bar is not None,
        f"Nobody knows what cylinder {number} holds. Read its gauge.",
        found="not known",
        needed="a reading",
        who=name,
    )


def group_is_whole(guide: bool, guests: int) -> Decision:
    """Has the group a guide and at least one guest?"""
    return must(
        L.GUIDE_REQUIRED,
        guide,
        "This group has no guide. Choose one.",
        found="none",
        needed="one guide",
    ) + must(
        L.GUESTS_IN_GROUP,
        guests > 0,
        "This group has no guests. Add one.",
        found="0",
        needed="at least 1",
    )


def limits_known(limits: Limits) -> Decision:
    """Has every limit that the plan uses a value?"""
    missing = [limit for limit in USED if limits[limit].number is None]
    return must(
        missing[0] if missing else L.PLAN_ISSUED,
        not missing,
        "A limit that the plan needs has no value. Ask the manager to set it.",
        found="not set",
        needed=missing[0].what if missing else "",
    )


def second_opinion(
    name: str, is_guide: bool, table_min: float | None, minutes: float, acknowledged: bool, limits: Limits
) -> Decision:
    """Does the guide know that the navy table would not allow this dive?

    table_min: the table's no-stop minutes from leaving the surface, None for without limit. For guests the
    stricter model binds already; for the guide's day the table is a second opinion to be acknowledged.
    """
    left = limits[L.NO_STOP_LEFT_MIN].number
    if not is_guide or table_min is None or (left is not None and minutes + left <= table_min):
        return ALLOWED
    text = f"The navy table allows {name} {table_min:.0f} min only. The guide looks at this and says so."
    needed = f"at most {table_min:.0f} min, or the guide's acknowledgement"
    return (
        ALLOWED
        if acknowledged
        else refuse(Reason(L.NO_STOP_LEFT_MIN.key, text, f"{minutes:g} min", needed, "", "navy table", name))
    )
