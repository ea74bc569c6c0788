"""Holds, as the team sees them: the outcome word for all, the reasons only behind a logged look."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act, acting
from app.actions.health import health as acts
from app.records.health import health_answers, health_day, health_reads
from app.records.health.health import PARENTS_DISAGREE, HealthStanding, standing_of
from app.records.health.health_answers import OpenLetter
from app.records.health.health_rows import consents_of, newest
from app.records.health.letters import PARENT_PAPER, scans_of
from app.records.health.signatures import signatures
from app.records.store.problems import NotHere
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import BOOKED, party_view
from app.rules.doctors_letter import Verdict
from app.rules.health_access import (
    can_be_talked,
    may_look_in_emergency,
    may_see_outcome,
    may_see_reasons,
    may_talk,
    needs_speaker,
)
from app.rules.people import GuardianPlace
from app.rules.reason_words import reason_lines
from app.rules.screening import Outcome, age_on
from app.rules.screening_reasons import Computed
from app.web.access import DESK, INSTRUCTOR, KEEPER, LEAD
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
LOOKED_NOTES = {
    "stands": "The result stands, explained once more",
    "form": "The guest corrects the form",
    "keeper": "Goes to the keeper of the records",
}
SLIP_ROLES = {KEEPER: "As keeper", LEAD: "As lead of the day"}
TELLERS = (DESK, INSTRUCTOR, LEAD, KEEPER)
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


@dataclass(frozen=True)
class Case:
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
    return guest_page(front, guest_id)


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
        again=lambda problem: guest_page(front, guest_id, problem),
        show=lambda _: reasons_page(front, guest_id),
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
            speaker=fields.text("speaker", "the name", needed=False),
            speaker_adult=fields.tick("speaker_adult"),
            speaker_speaks=fields.tick("speaker_speaks"),
        )
        fields.done()
        acts.settle_talk(act, guest_id, words)

    return front.do(
        posted,
        settle,
        then=lambda _: f"/guests/{guest_id}/health",
        again=lambda problem: guest_page(front, guest_id, problem),
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
        again=lambda problem: guest_page(front, guest_id, problem),
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
        again=lambda problem: reasons_again(front, guest_id, problem),
    )


def case_of(front: Front, guest_id: int) -> Case:
    """Return a guest as this visitor may see it; raises NotHere for another day's guest on the water side."""
    guest, day = health_reads.guest_on(front.session, guest_id)
    roles = front.visitor.roles
    is_today = day == front.today
    if not may_see_outcome(roles, is_today=is_today):
        raise NotHere("not a guest of today")
    own = health_reads.guided_by(front.session, front.visitor.person_id, guest_id, day)
    return Case(
        guest,
        day,
        standing_of(front.session, front.house, guest, day),
        may_see_reasons(roles, own_group=own, is_today=is_today),
        may_talk(roles, own_group=own, is_today=is_today),
        may_look_in_emergency(roles, (front.today - day).days),
    )


def guest_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    """Show a guest's health page, with what is wrong in one of its forms."""
    case = case_of(front, guest_id)
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
        hands_over=front.visitor.has(DESK, INSTRUCTOR)
        and case.day >= front.today
        and _is_booked(front, case),
        notes_place=minor and front.visitor.has(DESK, INSTRUCTOR, LEAD),
        stops=case.day == front.today and not case.stands.stopped,
        why_look=list(WHY_LOOK.items()),
        stop_notes=list(STOP_NOTES.items()),
        places=list(PLACES.items()),
        disagree=newest(consents_of(front.session, case.guest.ref), PARENTS_DISAGREE) if minor else None,
        tells=outcome is not None and not case.stands.settled and front.visitor.has(*TELLERS),
        told=health_day.told_about(front.session, case.guest.ref, case.stands.about),
        asked_look=health_day.look_asked(front.session, [case.guest.ref], front.today).get(case.guest.ref),
        looked_notes=list(LOOKED_NOTES.items()),
        place_words=PLACES,
        pages=scans_of(front.session, case.guest.ref),
        papers=scans_of(front.session, case.guest.ref, PARENT_PAPER) if minor else [],
        takes_pages=front.visitor.has(DESK, INSTRUCTOR, LEAD, KEEPER),
        talk_form=_talk_lists(case)
        if problem and problem.action == "settle_talk" and case.may_talk
        else None,
        problem=problem,
        **flying_context(front, [case.guest], case.day),
    )


def reasons_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    """Show the reasons; the look at them has been logged."""
    with front.house.store.reading() as session:
        case = case_of(front, guest_id)
        sheet = health_answers.open_answers(session, front.house, case.guest, case.day)
    if not case.may_see:
        raise NotHere("not this person's guest")
    keeper = front.visitor.has(KEEPER)
    letters = health_answers.letters(front.session, front.house, case.guest) if keeper else []
    talkable = can_be_talked(case.stands.screened, front.visitor.roles, stopped=case.stands.stopped)
    return front.page(
        "health/reasons.html",
        f"Reasons of {case.guest.call_name}",
        case=case,
        lines=reason_lines(case.stands.reasons, sheet.questions),
        talk_form=_talk_lists(case) if case.may_talk and talkable else None,
        keeper=keeper,
        letter_codes=[(code, code) for code in letter_codes(case)],
        slips=[(code, code) for code in sheet.changed] if keeper else [],
        today_slips=_today_slips(front, case, sheet),
        slip_roles=[(role, words) for role, words in SLIP_ROLES.items() if front.visitor.has(role)],
        seen=health_day.points_seen(front.session, front.house, case.guest.ref, case.day)
        if case.stands.kept_by_look
        else [],
        verdicts=list(VERDICTS.items()),
        why_slip=list(WHY_SLIP.items()),
        signatures=signatures(front.session, front.house, case.guest, case.day) if keeper else [],
        day_of=front.shop.day_of,
        letters=letters,
        replaceable=[
            (str(one.row.id), f"{one.doctor}, {one.row.issued:%d %m %Y}")
            for one in letters
            if not one.state.superseded
        ],
        pages=scans_of(front.session, case.guest.ref) if keeper else [],
        reviews=_reviews(front, case),
        problem=problem,
    )


def reasons_again(front: Front, guest_id: int, problem: ProblemView) -> Response:
    """Show the reasons with what is wrong in a form of theirs: that is a look as well, and logged."""
    with acting(front.house, front.actor(), "look_at_reasons") as act:
        acts.look_at_reasons(act, guest_id, WHY_LOOK["letter"])
    return reasons_page(front, guest_id, problem)


def _reviews(front: Front, case: Case) -> list[tuple[OpenLetter, str]]:
    """Return the fit letters that a doctor's earlier not-fit holds back, and as whom this visitor reviews."""
    roles = [role for role in (KEEPER, LEAD) if front.visitor.has(role)]
    held = any(one.code == Computed.LTR_NOTFIT for one in case.stands.reasons)
    rows = health_answers.letters(front.session, front.house, case.guest) if held and roles else []
    return [
        (one, role)
        for one in rows
        for role in roles
        if one.verdict == Verdict.FIT and one.state.confirmed and not one.state.superseded
        if role not in one.state.reviews
        and front.visitor.person_id not in {said.by_id for said in one.state.reviews.values()}
    ]


def _today_slips(front: Front, case: Case, sheet: health_answers.OpenAnswers) -> list[tuple[str, str, str]]:
    """Return the answers of today that lead and keeper may undo: code, label, and who said so first."""
    if case.day != front.today or not front.visitor.has(KEEPER, LEAD) or sheet.form is None:
        return []
    begun = health_day.slips_begun(front.session, front.house, sheet.form)
    return [
        (code, code, f"{begun[code].by} said so as {begun[code].role}." if code in begun else "")
        for code in sheet.undoable
    ]


def letter_codes(case: Case) -> list[str]:
    """Return the reasons that a doctor may have seen and covered."""
    return [one.code for one in case.stands.reasons if not one.code.startswith("LTR-")]


def _talk_lists(case: Case) -> dict[str, Any]:
    return {
        "speaker": needs_speaker(case.stands.reasons),
        "decisions": list(DECISIONS.items()),
        "notes": list(TALK_NOTES.items()),
    }


def _is_booked(front: Front, case: Case) -> bool:
    party = party_view(front.session, case.guest.party_id).party
    return case.guest.state == BOOKED and party.state == BOOKED
