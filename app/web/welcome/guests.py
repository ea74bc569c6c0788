"""The guests of a party: adding one, changing what is written, taking out and bringing back."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.welcome import parties as acts
from app.records.tables.parties import GuestRow
from app.records.welcome import bookings
from app.records.welcome.bookings import PartyView
from app.web.access import DESK
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm, button_only
from app.web.welcome import fields as reading
from app.web.welcome import returning
from app.web.welcome.flights import flight_choices
from app.web.welcome.party import on_party

router = APIRouter()


@router.get("/parties/{party_id}/guests/new", name="add_guest_page")
def add_guest_page(front: Desk, party_id: int) -> Response:
    """Show an empty form for one more guest."""
    return _add_guest_page(front, party_id)


@router.post("/parties/{party_id}/guests", name="add_guest")
def add_guest(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Add a guest to the party."""

    def add(act: Act) -> None:
        fields = posted.fields()
        new = reading.read_guest(fields, front)
        fields.done()
        acts.add_guest(act, party_id, new)

    return front.do(
        posted,
        add,
        then=lambda _: f"/parties/{party_id}",
        again=lambda problem: _add_guest_page(front, party_id, problem),
    )


@router.get("/guests/{guest_id}/edit", name="edit_guest_page")
def edit_guest_page(front: Desk, guest_id: int) -> Response:
    """Show what is written of a guest, to be changed."""
    return _edit_guest_page(front, guest_id)


@router.post("/guests/{guest_id}/edit", name="edit_guest")
def edit_guest(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Change what is written of a guest."""
    guest = bookings.guest(front.session, guest_id)

    def change(act: Act) -> None:
        fields = posted.fields()
        new = reading.read_guest(fields, front)
        fields.done()
        acts.edit_guest(act, guest_id, posted.edits, new)

    return front.do(
        posted,
        change,
        then=lambda _: f"/parties/{guest.party_id}",
        again=lambda problem: _edit_guest_page(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/leave-out", name="leave_out_guest")
def leave_out_guest(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Take a guest out of the party."""
    guest = bookings.guest(front.session, guest_id)
    run = button_only(posted, lambda act: acts.leave_out_guest(act, guest_id, posted.edits))
    return on_party(front, posted, guest.party_id, run)


@router.post("/guests/{guest_id}/bring-back", name="bring_back_guest")
def bring_back_guest(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Bring a guest back who was taken out."""
    guest = bookings.guest(front.session, guest_id)
    run = button_only(posted, lambda act: acts.bring_back_guest(act, guest_id, posted.edits))
    return on_party(front, posted, guest.party_id, run)


def _add_guest_page(front: Front, party_id: int, problem: ProblemView | None = None) -> Response:
    view = bookings.party_view(front.session, party_id)
    kept = dict(problem.values) if problem else {}
    if problem is None and (begun := returning.earlier_asked(front)):
        kept = returning.begun_with(front, begun[0], "")
    kept["birth"] = reading.typed_birth(kept, "")
    return _guest_form(front, view, "Add a guest", f"/parties/{party_id}/guests", None, kept, problem)


def _edit_guest_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    guest = bookings.guest(front.session, guest_id)
    view = bookings.party_view(front.session, guest.party_id)
    kept = reading.typed_guest(guest, front.shop.zone)
    title = f"Change {guest.call_name}"
    return _guest_form(front, view, title, f"/guests/{guest_id}/edit", guest, kept, problem)


def _guest_form(
    front: Front,
    view: PartyView,
    title: str,
    to: str,
    guest: GuestRow | None,
    kept: dict[str, str],
    problem: ProblemView | None,
) -> Response:
    return front.page(
        "welcome/guest.html",
        title,
        problem=problem,
        view=view,
        to=to,
        guest=guest,
        kept=kept,
        may_find=front.visitor.has(DESK),
        earlier=returning.kept_visits(front, kept, [""]) if guest is None else {},
        swimming=list(reading.SWIMMING),
        flights=lambda chosen: flight_choices(front, view.slot.slot.day, chosen),
    )
