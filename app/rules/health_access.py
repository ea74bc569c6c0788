"""Who may see and settle what of a guest's health check. The desk sees the outcome word only."""

from collections.abc import Iterable

from app.rules.question_set import Part, Question
from app.rules.screening import Outcome
from app.rules.screening_reasons import Computed, Level, ScreeningReason

# An emergency can show itself until the day after the dive.
EMERGENCY_DAYS = 1
# The guest's own wish, whichever way it was said; nobody undoes it.
OWN_CHOICE = "WILL.a"


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


def may_undo_today(question: Question) -> bool:
    """Whether a Yes to this question may be undone as a slip of the finger, by lead and keeper together.

    It is an answer of the day that keeps the guest ashore, not the guest's own wish, and none that stands
    whatever anybody says.
    """
    today = question.part is Part.TODAY and question.yes is Level.ASHORE
    return today and not question.slip_stands and question.code != OWN_CHOICE


def can_be_talked(screened: str | None, roles: frozenset[str], *, stopped: bool) -> bool:
    """Whether a talk may settle this outcome: one that asks for a talk, or a stop that the lead takes back.

    Nothing that needs an answer, a letter or another day is settled by talking.
    """
    if stopped:
        return "lead" in roles and screened in (Outcome.TALK, Outcome.CLEARED)
    return screened == Outcome.TALK


def needs_speaker(reasons: Iterable[ScreeningReason]) -> bool:
    """Whether a talk needs an adult who speaks the guest's language: the words shown were not relied on."""
    return any(reason.code == Computed.LANG for reason in reasons)


def speaker_will_do(speaker: str, *, adult: bool, speaks: bool) -> bool:
    """Whether somebody may stand between guest and instructor: named, an adult, who speaks the language.

    A child never does (common practice; US health rule 45 CFR 92.201 on minors as interpreters,
    from memory).
    """
    return bool(speaker.strip()) and adult and speaks
