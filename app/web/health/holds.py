"""Holds, as the team sees them: the outcome word for all, the reasons only behind a logged look."""

from dataclasses import dataclass
from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions import health as acts
from app.actions.act import Act, acting
from app.records import health_answers, health_reads
from app.records.health import HealthStanding, standing_of
from app.records.problems import NotHere
from app.records.tables.parties import GuestRow
from app.rules.doctors_letter import Verdict
from app.rules.health_access import (
    can_be_talked,
    may_look_in_emergency,
    may_see_outcome,
    may_see_reasons,
    may_talk,
)
from app.rules.people import GuardianPlace
from app.rules.reason_words import reason_lines
from app.rules.screening import Outcome, age_on
from app.web.access import DESK, INSTRUCTOR, KEEPER, LEAD
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.welcome.flights import flying_context

router = APIRouter()
# None of these lists holds a health word: they are stored in the open.
WHY_LOOK = {
    "talk": "To talk with the guest",
    "plan": "To plan the dive",
    "letter": "To record a letter",
    "asked": "The guest asked me to",
}
WHY_SLIP = {
    "tapped": "Tapped the wrong button",
    "misread": "Read the question wrongly",
    "language": "Did not understand the words",
}
DECISIONS = {
    acts.GO: "Go",
    acts.GO_WITH_LIMITS: "Go with limits",
    acts.ASHORE: "Stays ashore today",
}
TALK_NOTES = {
    "ready": "Talked it through, calm and ready",
    "close": "Held close by the guide all the time",
    "slow": "Starts slowly, with more time in the shallows",
    "later": "Another day is better",
}
STOP_NOTES = {
    "seen": "Something seen on shore",
    "told": "Something the guest told us",
    "wish": "The guest would rather not",
    "lead": "Told to the lead of the day",
}
VERDICTS = {str(Verdict.FIT): "Fit to dive", str(Verdict.NOT_FIT): "Not fit to dive"}
PLACES = {
    str(GuardianPlace.POOLSIDE): "Right beside the water",
    str(GuardianPlace.ON_SITE): "On the site",
    str(GuardianPlace.BY_PHONE): "Elsewhere, by phone",
}
WHAT_MAY_CHANGE = {
    None: "Hand the guest the tablet. Only the guest answers.",
    Outcome.CLEARED: "Anyone on the team may stop the guest.",
    Outcome.TALK: "A named instructor talks with the guest and writes down how it ended, for today.",
    Outcome.INCOMPLETE: "The missing answer or signature. Only the guest or the guardian can give it.",
    Outcome.LETTER: "A doctor's letter, recorded by the keeper. Offer another day, free of charge.",
    Outcome.ASHORE: "A new day with new answers; a letter does not help. Offer another day, free of charge.",
}
OLDEST_LETTER = timedelta(days=800)
FURTHEST_EXPIRY = timedelta(days=3700)


@dataclass(frozen=True)
class _Case:
    """One guest as this visitor may see it."""

    guest: GuestRow
    day: date
    stands: HealthStanding
    may_see: bool
    may_talk: bool
    may_emergency: bool

    @property
    def path(self) -> str:
        return f"/guests/{self.guest.id}/health"


@router.get("/guests/{guest_id}/health", name="guest_health")
def guest_health(front: Desk, guest_id: int) -> Response:
    """Show the outcome word and what may change it; never a cause."""
    return _guest_page(front, guest_id)


@router.post("/guests/{guest_id}/health/reasons", name="look_at_reasons")
def look_at_reasons(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Log a look, then show the reasons once."""

    def look(act: Act) -> None:
        fields = posted.fields()
        why = fields.choice("why", "why you look", WHY_LOOK)
        fields.done()
        acts.look_at_reasons(act, guest_id, WHY_LOOK[why])

    return front.do(
        posted,
        look,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: _guest_page(front, guest_id, problem),
        show=lambda _: _reasons_page(front, guest_id),
    )


@router.post("/guests/{guest_id}/health/talk", name="settle_talk")
def settle_talk(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store how the talk ended, for today."""

    def settle(act: Act) -> None:
        fields = posted.fields()
        words = acts.TalkWords(
            about=fields.text("about", "what was talked about"),
            decision=fields.choice("decision", "how the talk ended", DECISIONS),
            note=TALK_NOTES.get(fields.choice("note", "a note", TALK_NOTES), ""),
            depth_cap_m=fields.number("depth_cap_m", "Not deeper than", 1, 12, "m", needed=False),
            max_guests=fields.whole("max_guests", "Guests in the group", 1, 4, needed=False),
            confined_only=fields.tick("confined_only"),
        )
        fields.done()
        acts.settle_talk(act, guest_id, words)

    return front.do(
        posted,
        settle,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: _guest_page(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/stop", name="stop_guest")
def stop_guest(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Keep a guest ashore today; everybody on the team may."""

    def stop(act: Act) -> None:
        fields = posted.fields()
        note = fields.choice("stop_note", "what made you stop the guest", STOP_NOTES)
        fields.done()
        acts.stop_guest(act, guest_id, STOP_NOTES[note])

    return front.do(
        posted,
        stop,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: _guest_page(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/guardian-place", name="guardian_place")
def guardian_place(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store where the guardian is today."""

    def note(act: Act) -> None:
        fields = posted.fields()
        place = fields.choice("place", "where the guardian is", PLACES)
        fields.done()
        acts.note_guardian_place(act, guest_id, place)

    return front.do(
        posted,
        note,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: _guest_page(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/letter", name="record_letter")
def record_letter(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store a doctor's letter as the keeper reads it."""

    def record(act: Act) -> None:
        fields = posted.fields()
        words = _letter(fields, front.today, _letter_codes(_case(front, guest_id)))
        fields.done()
        acts.record_letter(act, guest_id, words)

    return front.do(
        posted,
        record,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: _reasons_again(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/health/slip", name="record_slip")
def record_slip(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store that a Yes that became a No was an honest slip."""

    def record(act: Act) -> None:
        fields = posted.fields()
        code = fields.text("code", "which answer")
        why = fields.choice("slip_why", "what happened", WHY_SLIP)
        fields.done()
        acts.record_slip(act, guest_id, code, WHY_SLIP[why])

    return front.do(
        posted,
        record,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: _reasons_again(front, guest_id, problem),
    )


def _case(front: Front, guest_id: int) -> _Case:
    """Return a guest as this visitor may see it; raises NotHere for another day's guest on the water side."""
    guest, day = health_reads.guest_on(front.session, guest_id)
    roles = front.visitor.roles
    is_today = day == front.today
    if not may_see_outcome(roles, is_today=is_today):
        raise NotHere("not a guest of today")
    own = health_reads.guided_by(front.session, front.visitor.person_id, guest_id, day)
    return _Case(
        guest,
        day,
        standing_of(front.session, front.house, guest, day),
        may_see_reasons(roles, own_group=own, is_today=is_today),
        may_talk(roles, own_group=own, is_today=is_today),
        may_look_in_emergency(roles, (front.today - day).days),
    )


def _guest_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    case = _case(front, guest_id)
    outcome = None if case.stands.outcome is None else Outcome(case.stands.outcome)
    minor = age_on(case.guest.birth_date, case.day) < health_answers.majority_age(front.session)
    return front.page(
        "health/guest.html",
        f"Health check of {case.guest.call_name}",
        case=case,
        may_change=WHAT_MAY_CHANGE[Outcome.CLEARED if case.stands.settled else outcome],
        minor=minor,
        covered=case.stands.guardian_covers(case.day),
        asks=outcome in (None, Outcome.INCOMPLETE),
        hands_over=front.visitor.has(DESK, INSTRUCTOR) and case.day >= front.today,
        notes_place=minor and front.visitor.has(DESK, INSTRUCTOR, LEAD),
        stops=case.day == front.today and not case.stands.stopped,
        why_look=list(WHY_LOOK.items()),
        stop_notes=list(STOP_NOTES.items()),
        places=list(PLACES.items()),
        place_words=PLACES,
        talk_form=_talk_lists() if problem and problem.action == "settle_talk" and case.may_talk else None,
        problem=problem,
        **flying_context(front, [case.guest], case.day),
    )


def _reasons_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    """Show the reasons; the look at them has been logged."""
    with front.house.store.reading() as session:
        case = _case(front, guest_id)
        sheet = health_answers.open_answers(session, front.house, case.guest, case.day)
    if not case.may_see:
        raise NotHere("not this person's guest")
    keeper = front.visitor.has(KEEPER)
    talkable = can_be_talked(case.stands.screened, front.visitor.roles, stopped=case.stands.stopped)
    return front.page(
        "health/reasons.html",
        f"Reasons of {case.guest.call_name}",
        case=case,
        lines=reason_lines(case.stands.reasons, sheet.questions),
        talk_form=_talk_lists() if case.may_talk and talkable else None,
        keeper=keeper,
        letter_codes=[(code, code) for code in _letter_codes(case)],
        slips=[(code, code) for code in sheet.changed] if keeper else [],
        verdicts=list(VERDICTS.items()),
        why_slip=list(WHY_SLIP.items()),
        letters=health_answers.letters(front.session, front.house, case.guest) if keeper else [],
        problem=problem,
    )


def _reasons_again(front: Front, guest_id: int, problem: ProblemView) -> Response:
    """Show the reasons with what is wrong in a keeper's form: that is a look as well, and logged."""
    with acting(front.house, front.actor(), "look_at_reasons") as act:
        acts.look_at_reasons(act, guest_id, WHY_LOOK["letter"])
    return _reasons_page(front, guest_id, problem)


def _letter(fields: Fields, today: date, codes: list[str]) -> acts.LetterWords:
    doctor = fields.text("doctor", "the doctor's full name")
    if not fields.tick("not_relative"):
        fields.wrong("not_relative", "A letter counts only from a doctor who is not the guest or a relative.")
    verdict = fields.choice("verdict", "what the doctor says", VERDICTS)
    issued = fields.date3("issued", "the date of the letter", today - OLDEST_LETTER, today)
    return acts.LetterWords(
        doctor=doctor,
        register_no=fields.text("register_no", "the doctor's register number and country"),
        contact=fields.text("contact", "how to reach the practice"),
        verdict=Verdict(verdict) if verdict else Verdict.NOT_FIT,
        issued=issued or today,
        expires=fields.date3(
            "expires", "the last day it counts", today - OLDEST_LETTER, today + FURTHEST_EXPIRY, needed=False
        ),
        limits=fields.text("limits", "the limits", needed=False),
        covers=tuple(fields.several("covers", "what the letter covers", codes)),
    )


def _letter_codes(case: _Case) -> list[str]:
    return [one.code for one in case.stands.reasons if not one.code.startswith("LTR-")]


def _talk_lists() -> dict[str, list[tuple[str, str]]]:
    return {"decisions": list(DECISIONS.items()), "notes": list(TALK_NOTES.items())}
