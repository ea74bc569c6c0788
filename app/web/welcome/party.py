"""One party: who is coming, contact, payment, another slot, cancelling and undoing it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.welcome import parties as acts
from app.records.groups.placements import Place, own_guests, places_of
from app.records.health.health import HealthStanding, standing
from app.records.kit_rail.kit import Loan, loans_of
from app.records.setup import shop as shop_records
from app.records.tables.parties import GuestRow
from app.records.welcome import bookings
from app.records.welcome.bookings import PartyView, SlotView, flight_of
from app.records.welcome.returning import last_visits, likely_before
from app.rules.ages import age_on
from app.rules.decision import Decision
from app.rules.flying import flights_fit
from app.rules.health_access import may_see_outcome
from app.rules.languages import say_languages
from app.web.access import DESK, INSTRUCTOR, LEAD, MANAGER
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm, button_only
from app.web.welcome import fields as reading
from app.web.welcome.desk import STATE_WORDS, is_over, person_state
from app.web.welcome.flights import flying_context, say_too_late, too_late

router = APIRouter()
MOVE_DAYS = 7


@dataclass(frozen=True)
class GuestLine:
    """One guest of the party as its page shows it."""

    row: GuestRow
    age: int
    health: HealthStanding
    state: str
    place: Place | None
    kit: tuple[Loan, ...]
    hands_over: bool
    # The last visit that the desk linked, and a visit of somebody of the same name and birth date.
    before: date | None = None
    likely: int | None = None


@router.get("/parties/{party_id}", name="party")
def party(front: Desk, party_id: int) -> Response:
    """Show one party."""
    return _party_page(front, party_id)


@router.get("/parties/{party_id}/edit", name="edit_party_page")
def edit_party_page(front: Desk, party_id: int) -> Response:
    """Show contact and price, to be changed."""
    return _edit_page(front, party_id)


@router.post("/parties/{party_id}/edit", name="edit_party")
def edit_party(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Change contact and price."""

    def change(act: Act) -> None:
        fields = posted.fields()
        contact = reading.read_contact(fields)
        price = reading.read_price(fields, needed=True)
        fields.done()
        acts.edit_party(act, party_id, posted.edits, contact, price or 0)

    return front.do(
        posted,
        change,
        then=lambda _: f"/parties/{party_id}",
        again=lambda problem: _edit_page(front, party_id, problem),
    )


@router.post("/parties/{party_id}/paid", name="mark_paid")
def mark_paid(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Mark the party as paid, or take the mark back."""

    def mark(act: Act) -> None:
        fields = posted.fields()
        paid = fields.choice("paid", "paid or not paid", ("yes", "no")) == "yes"
        fields.done()
        acts.mark_paid(act, party_id, posted.edits, paid=paid)

    return on_party(front, posted, party_id, mark)


@router.post("/parties/{party_id}/move", name="move_party")
def move_party(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Move the party to another slot."""

    def move(act: Act) -> None:
        fields = posted.fields()
        slot = fields.whole("slot", "the slot", 1, 10**9, needed=False)
        if slot is None:
            fields.wrong("slot", "Choose another slot.")
        fields.done()
        acts.move_party(act, party_id, posted.edits, slot or 0)

    return on_party(front, posted, party_id, move)


@router.post("/parties/{party_id}/cancel", name="cancel_party")
def cancel_party(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Cancel the party."""
    run = button_only(posted, lambda act: acts.cancel_party(act, party_id, posted.edits))
    return on_party(front, posted, party_id, run)


@router.post("/parties/{party_id}/no-show", name="no_show_party")
def no_show_party(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Mark the party as not come."""
    run = button_only(posted, lambda act: acts.no_show_party(act, party_id, posted.edits))
    return on_party(front, posted, party_id, run)


@router.post("/parties/{party_id}/again", name="rebook_party")
def rebook_party(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Book a cancelled party again."""
    run = button_only(posted, lambda act: acts.rebook_party(act, party_id, posted.edits))
    return on_party(front, posted, party_id, run)


def knows(front: Front, view: PartyView) -> bool:
    """Return whether the visitor may see contact and personal details of a party.

    Desk and manager: all; lead: today's; instructor: parties with a guest of an own group of today.
    """
    who = front.visitor
    if who.has(DESK, MANAGER):
        return True
    if view.slot.slot.day != front.today:
        return False
    mine = own_guests(front.session, who.person_id, front.today) if who.has(INSTRUCTOR) else frozenset()
    return who.has(LEAD) or any(guest.id in mine for guest in view.guests)


def on_party(front: Front, posted: Posted, party_id: int, action: Callable[[Act], object]) -> Response:
    """Carry out one of the party page's acts."""
    return front.do(
        posted,
        action,
        then=lambda _: f"/parties/{party_id}",
        again=lambda problem: _party_page(front, party_id, problem),
    )


def _party_page(front: Front, party_id: int, problem: ProblemView | None = None) -> Response:
    view = bookings.party_view(front.session, party_id)
    day = view.slot.slot.day
    health = standing(front.session, front.house, view.guests, day)
    ids = [guest.id for guest in view.guests]
    places, kit = places_of(front.session, ids), loans_of(front.session, ids)
    standing_now = view.party.state == bookings.BOOKED
    desk_only = front.visitor.has(DESK)
    before = last_visits(front.session, view.guests, day) if desk_only else {}
    likely = likely_before(front.session, view.guests, day) if desk_only else {}
    lines = [
        GuestLine(
            row=guest,
            age=age_on(guest.birth_date, day),
            health=health[guest.id or 0],
            state=person_state(guest, health[guest.id or 0]),
            place=next((one for one in reversed(places.get(guest.id or 0, [])) if one.current), None),
            kit=tuple(kit.get(guest.id or 0, ())),
            hands_over=standing_now and guest.state == bookings.BOOKED and day >= front.today,
            before=before.get(guest.id or 0),
            likely=likely.get(guest.id or 0),
        )
        for guest in view.guests
    ]
    desk = front.visitor.has(DESK, LEAD)
    moves = _moves(front, view) if desk and standing_now else []
    late = too_late(front, moves, [(one.call_name, flight_of(one)) for one in view.booked])
    signed_off = shop_records.closed_day(front.session, day) is not None
    return front.page(
        "welcome/party.html",
        f"Party of {view.party.contact_name}",
        problem=problem,
        view=view,
        party=view.party,
        day=day,
        coming=[line for line in lines if line.row.state == bookings.BOOKED],
        left_out=[line for line in lines if line.row.state != bookings.BOOKED],
        states=STATE_WORDS,
        knows=knows(front, view),
        may_change=desk and not signed_off,
        may_edit=desk,
        may_export=front.visitor.has(MANAGER),
        may_edit_contact=front.visitor.has(DESK),
        opens_health=may_see_outcome(front.visitor.roles, is_today=day == front.today),
        may_hand_over=front.visitor.has(DESK, INSTRUCTOR, LEAD),
        standing_now=standing_now,
        moves=[slot for slot in moves if slot.slot.id not in late],
        too_late=[(slot, say_too_late(late[slot.slot.id or 0])) for slot in moves if slot.slot.id in late],
        flights=_flights_now(front, view, [one for one in lines if one.place is None or not one.place.event]),
        **flying_context(front, view.guests, day),
        swims=reading.SWIMS,
        say_languages=say_languages,
        signed_off=signed_off,
    )


def _flights_now(front: Front, view: PartyView, lines: list[GuestLine]) -> Decision:
    """Hold the flights told against the party's own slot, for the guests who have not been at the water."""
    ashore = [line.row for line in lines if line.row.state == bookings.BOOKED]
    return flights_fit(
        [(one.call_name, flight_of(one)) for one in ashore],
        view.slot.slot.starts_at,
        shop_records.limits_now(front.session),
    )


def _moves(front: Front, view: PartyView) -> list[SlotView]:
    """The slots that hold this party, from today on: of the party's day and of the days after it."""
    first = max(front.today, view.slot.slot.day - timedelta(days=1))
    slots = bookings.slots_between(front.session, first, first + timedelta(days=MOVE_DAYS))
    return [
        slot
        for slot in slots
        if slot.slot.id != view.slot.slot.id
        and slot.slot.open
        and slot.left >= len(view.booked)
        and not is_over(front, slot)
    ]


def _edit_page(front: Front, party_id: int, problem: ProblemView | None = None) -> Response:
    view = bookings.party_view(front.session, party_id)
    party = view.party
    kept = {
        "contact_name": party.contact_name,
        "phone": party.phone,
        "email": party.email,
        "emergency_name": party.emergency_name,
        "emergency_phone": party.emergency_phone,
        "note": party.note,
        "price": f"{party.price_cents / 100:.2f}",
    }
    return front.page("welcome/edit_party.html", "Contact and price", problem=problem, party=party, kept=kept)
