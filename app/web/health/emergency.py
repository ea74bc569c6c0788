"""The emergency look at answers and contacts, and the list of every look at a health record."""

from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import health as acts
from app.records.health import health_answers, health_reads
from app.records.health.signatures import signatures
from app.records.store.problems import NotHere
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import party_view
from app.rules.health_access import may_look_in_emergency
from app.rules.screening import age_on
from app.web.access import KEEPER
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
# Stored in the open, so it holds no health word.
WHY_EMERGENCY = {
    "now": "The guest needs help now",
    "after": "The guest called after the dive",
    "rescue": "A rescuer or doctor asks",
}
LOOKS_SHOWN = timedelta(days=30)


@router.get("/guests/{guest_id}/emergency", name="emergency_page")
def emergency_page(front: Desk, guest_id: int) -> Response:
    """Ask why, with one button for each reason."""
    return _emergency_page(front, guest_id)


@router.post("/guests/{guest_id}/emergency", name="emergency_look")
def emergency_look(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Log an emergency look, then show answers and contacts once."""

    def look(act: Act) -> None:
        fields = posted.fields()
        why = fields.choice("why", "why you look", WHY_EMERGENCY)
        fields.done()
        acts.look_in_emergency(act, guest_id, WHY_EMERGENCY[why])

    return front.do(
        posted,
        look,
        then=lambda _: f"/guests/{guest_id}/emergency",
        again=lambda problem: _emergency_page(front, guest_id, problem),
        show=lambda _: _answers_page(front, guest_id),
    )


@router.get("/health/looks", name="health_looks")
def health_looks(front: Desk) -> Response:
    """List looks at health records: the keeper all, the lead the emergency looks."""
    kind = None if front.visitor.has(KEEPER) else health_reads.ANSWERS
    found = health_reads.looks(front.session, front.now - LOOKS_SHOWN, kind)
    return front.page("health/looks.html", "Looks at health records", looks=found, day_of=front.shop.day_of)


def _emergency_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    guest, _ = _emergency_guest(front, guest_id)
    return front.page(
        "health/emergency.html",
        f"Emergency look: {guest.call_name}",
        guest=guest,
        why=list(WHY_EMERGENCY.items()),
        problem=problem,
    )


def _answers_page(front: Front, guest_id: int) -> Response:
    guest, day = _emergency_guest(front, guest_id)
    return front.page(
        "health/answers.html",
        f"Answers of {guest.call_name}",
        guest=guest,
        age=age_on(guest.birth_date, day),
        party=party_view(front.session, guest.party_id).party,
        guardian=health_answers.guardian(front.session, front.house, guest),
        signatures=signatures(front.session, front.house, guest, day),
        day_of=front.shop.day_of,
        sheet=health_answers.open_answers(front.session, front.house, guest, day),
    )


def _emergency_guest(front: Front, guest_id: int) -> tuple[GuestRow, date]:
    guest, day = health_reads.guest_on(front.session, guest_id)
    if not may_look_in_emergency(front.visitor.roles, (front.today - day).days):
        raise NotHere("no emergency look for this guest")
    return guest, day
