"""Who may see and settle what of a guest's health check. The desk sees the outcome word only."""

from app.rules.screening import Outcome

# An emergency can show itself until the day after the dive.
EMERGENCY_DAYS = 1


def may_see_outcome(roles: frozenset[str], *, is_today: bool) -> bool:
    """Whether somebody may open a guest's health page, where the outcome word stands.

    Those who only lead groups may on the guest's day; desk, keeper and manager on any.
    """
    return is_today or not roles <= {"instructor", "lead"}


def may_see_reasons(roles: frozenset[str], *, own_group: bool, is_today: bool) -> bool:
    """Whether somebody may see reason codes: the keeper all, the lead today's, a guide today's own group."""
    return "keeper" in roles or may_talk(roles, own_group=own_group, is_today=is_today)


def may_talk(roles: frozenset[str], *, own_group: bool, is_today: bool) -> bool:
    """Whether somebody may settle a talk: the lead any of today's, an instructor today's own group."""
    return is_today and ("lead" in roles or ("instructor" in roles and own_group))


def may_look_in_emergency(roles: frozenset[str], days_after: int) -> bool:
    """Whether somebody may open the answers in an emergency, ``days_after`` days after the guest's day."""
    return bool(roles & {"instructor", "lead"}) and 0 <= days_after <= EMERGENCY_DAYS


def can_be_talked(screened: str | None, roles: frozenset[str], *, stopped: bool) -> bool:
    """Whether a talk may settle this outcome: one that asks for a talk, or a stop that the lead takes back.

    Nothing that needs an answer, a letter or another day is settled by talking.
    """
    if stopped:
        return "lead" in roles and screened in (Outcome.TALK, Outcome.CLEARED)
    return screened == Outcome.TALK
