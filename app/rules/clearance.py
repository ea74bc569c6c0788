"""May this guest go in the water today on health and consent? Said without any cause.

The health check itself is elsewhere; here its outcome is held against the day. Nothing but a cleared
outcome, or a talk that a named instructor settled today, lets a guest go in.
"""

from datetime import date

from app.rules import limits as L
from app.rules.ages import guardian_is_near, is_minor
from app.rules.decision import ALLOWED, Decision, all_of
from app.rules.measure import must, within
from app.rules.people import GuestFacts, Talk, Where
from app.rules.resolve import Limits

_WHAT_NEXT = {
    "TALK": "An instructor talks with {name} first and writes down the result.",
    "INCOMPLETE": "{name}'s form is not finished. Hand {name} the tablet again.",
    "LETTER": "{name} needs a doctor's letter. Offer another day.",
    "ASHORE": "{name} stays ashore today. Offer another day.",
}
_NOT_CHECKED = "{name} has no health check for today. Hand {name} the tablet."


def may_dive_on_health(guest: GuestFacts, where: Where, day: date, limits: Limits) -> Decision:
    """Is the guest cleared, or a talk settled for this water today, with both parts of the form fresh?"""
    return all_of(
        (
            _outcome(guest, day),
            _talk_water(guest, where),
            _today_part(guest, day),
            _history(guest, day, limits),
        )
    )


def may_dive_on_consent(guest: GuestFacts, day: date, limits: Limits) -> Decision:
    """Does a minor have a guardian's consent that covers the day, and the guardian near enough?"""
    if not is_minor(guest.age, limits):
        return ALLOWED
    first, last = guest.guardian_consent_on, guest.guardian_consent_until
    covered = first is not None and last is not None and first <= day <= last
    consent = must(
        L.GUARDIAN_CONSENT,
        covered,
        f"{guest.name} has no guardian's consent for today. Ask the guardian to sign.",
        found="none" if first is None or last is None else f"{first.isoformat()} to {last.isoformat()}",
        needed=f"consent covering {day.isoformat()}",
        who=guest.name,
    )
    age_of_consent = within(
        limits[L.CONSENT_VALID_FOR],
        None if first is None else (day - first).days,
        unknown=f"Nobody knows when {guest.name}'s guardian signed. Ask the guardian to sign.",
        broken=f"The consent for {guest.name} is too old. Ask the guardian to sign again.",
        who=guest.name,
    )
    return all_of((consent, age_of_consent, guardian_is_near(guest)))


def talk_today(guest: GuestFacts, day: date) -> Talk | None:
    """The guest's talk, when a named instructor settled it today; otherwise None."""
    talk = guest.talk
    return talk if talk is not None and talk.by and talk.on == day else None


def _outcome(guest: GuestFacts, day: date) -> Decision:
    talk = talk_today(guest, day)
    settled = guest.outcome == "TALK" and talk is not None and talk.result in {"GO", "GO-LIMIT"}
    refused = guest.talk is not None and guest.talk.result == "ASHORE" and guest.talk.on == day
    next_step = _WHAT_NEXT["ASHORE"] if refused else _WHAT_NEXT.get(guest.outcome or "", _NOT_CHECKED)
    return must(
        L.SCREENING_ANY_FLAG_BLOCKS,
        (guest.outcome == "CLEARED" or settled) and not refused,
        next_step.format(name=guest.name),
        found=guest.outcome_word or "not settled",
        needed="cleared, or a talk settled today",
        who=guest.name,
    )


def _talk_water(guest: GuestFacts, where: Where) -> Decision:
    return must(
        L.SCREENING_ANY_FLAG_BLOCKS,
        where == "confined" or guest.talk is None or not guest.talk.confined_only,
        f"After the talk {guest.name} stays in pool-like water. Choose the pool.",
        found="open water",
        needed="pool-like water",
        who=guest.name,
    )


def _today_part(guest: GuestFacts, day: date) -> Decision:
    signed = guest.today_signed_on
    return must(
        L.HEALTH_TODAY_SIGNED,
        signed == day,
        f"{guest.name} has not signed today's questions. Hand {guest.name} the tablet.",
        found="not known" if signed is None else signed.isoformat(),
        needed=day.isoformat(),
        who=guest.name,
    )


def _history(guest: GuestFacts, day: date, limits: Limits) -> Decision:
    signed = guest.history_signed_on
    return within(
        limits[L.DECLARATION_VALID_FOR],
        None if signed is None or signed > day else (day - signed).days,
        unknown=f"{guest.name} has not signed the health form. Hand {guest.name} the tablet.",
        broken=f"{guest.name}'s health form is too old. Hand {guest.name} the tablet again.",
        who=guest.name,
    )
