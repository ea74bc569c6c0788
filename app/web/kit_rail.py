"""Kit rail: who of a slot has what, giving out by size, taking back, and lead."""

from collections.abc import Callable
from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions import kit as acts
from app.actions.act import Act
from app.records import bookings, kit
from app.records import shop as shop_records
from app.records.bookings import SlotView
from app.records.kit import ItemView, Loan
from app.records.lead import suggest_lead
from app.records.placements import own_guests
from app.records.problems import NotHere
from app.records.tables.kit import WeightsRow
from app.records.tables.parties import GuestRow
from app.rules.kit import SIZES, may_give
from app.rules.size_chart import SOURCE, first_sizes
from app.web.access import DESK, INSTRUCTOR, LEAD, MANAGER
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm, button_only

router = APIRouter()
MOST_LEAD_KG = 25
MOST_ITEMS = 12


@dataclass(frozen=True)
class RailLine:
    """One guest on the rail: sizes, what the guest has, what to give, and which kinds have nothing free."""

    guest: GuestRow
    sizes: str
    has: tuple[Loan, ...]
    offer: tuple[ItemView, ...]
    lacking: tuple[str, ...]
    lead: WeightsRow | None

    @property
    def state(self) -> tuple[str, str, str]:
        """State, word and shape: all of it, part of it, nothing yet."""
        if not self.has:
            return "no-kit", "no kit yet", "ring"
        if len({loan.item.kind for loan in self.has}) < len(SIZES):
            return "part-kit", "part of the kit", "square"
        return "has-kit", "has the kit", "dot"


@router.get("/kit", name="kit")
def kit_rail(front: Desk) -> Response:
    """Show the guests of a slot with what they have and what fits them."""
    return _rail_page(front, _slot_asked(front))


@router.get("/kit/guests/{guest_id}", name="kit_guest")
def kit_guest(front: Desk, guest_id: int) -> Response:
    """Show one guest's kit, item by item, and the lead."""
    return _guest_page(front, guest_id)


@router.post("/kit/guests/{guest_id}/give", name="give_kit")
def give_kit(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Give one item or the suggested set to a guest."""
    bookings.guest(front.session, guest_id)

    def give(act: Act) -> None:
        fields = posted.fields()
        known = {str(view.row.id) for view in kit.items(act.session)}
        chosen = fields.several("item", "an item", known)
        if not chosen:
            fields.wrong("item", "Choose an item.")
        fields.done()
        acts.give_kit(act, guest_id, [int(one) for one in chosen[:MOST_ITEMS]])

    return _do(front, posted, guest_id, give)


@router.post("/kit/guests/{guest_id}/back", name="take_back_all_kit")
def take_back_all_kit(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Take back everything that a guest has."""
    return _do(
        front, posted, guest_id, button_only(posted, lambda act: acts.take_back_all_kit(act, guest_id))
    )


@router.post("/kit/loans/{loan_id}/back", name="take_back_kit")
def take_back_kit(front: Desk, posted: PostedForm, loan_id: int) -> Response:
    """Take one item back."""
    loan = kit.loan(front.session, loan_id)
    run = button_only(posted, lambda act: acts.take_back_kit(act, loan_id, posted.edits))
    return _do(front, posted, loan.row.guest_id, run)


@router.post("/kit/loans/{loan_id}/undo", name="undo_kit_back")
def undo_kit_back(front: Desk, posted: PostedForm, loan_id: int) -> Response:
    """Undo taking an item back."""
    loan = kit.loan(front.session, loan_id)
    run = button_only(posted, lambda act: acts.undo_kit_back(act, loan_id, posted.edits))
    return _do(front, posted, loan.row.guest_id, run)


@router.post("/kit/guests/{guest_id}/weights", name="give_weights")
def give_weights(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Write down the lead given to a guest."""
    bookings.guest(front.session, guest_id)

    def give(act: Act) -> None:
        fields = posted.fields()
        given = fields.required_number("given_kg", "Lead given", 0, MOST_LEAD_KG, "kg")
        fields.done()
        acts.give_weights(act, guest_id, given)

    return _do(front, posted, guest_id, give)


@router.post("/kit/weights/{weights_id}/back", name="take_back_weights")
def take_back_weights(front: Desk, posted: PostedForm, weights_id: int) -> Response:
    """Take the lead back."""
    row = kit.weights(front.session, weights_id)
    run = button_only(posted, lambda act: acts.take_back_weights(act, weights_id, posted.edits))
    return _do(front, posted, row.guest_id, run)


def _do(front: Front, posted: Posted, guest_id: int, action: Callable[[Act], object]) -> Response:
    """Carry out an act and go back to the page it came from: the rail (``?rail``) or the guest's own."""
    guest = bookings.guest(front.session, guest_id)
    slot = bookings.party_view(front.session, guest.party_id).slot
    if "rail" in front.request.query_params:
        return front.do(
            posted,
            action,
            then=lambda _: f"/kit?slot={slot.slot.id}#person-guest-{guest_id}",
            again=lambda problem: _rail_page(front, slot, problem),
        )
    return front.do(
        posted,
        action,
        then=lambda _: f"/kit/guests/{guest_id}",
        again=lambda problem: _guest_page(front, guest_id, problem),
    )


def _slot_asked(front: Front) -> SlotView | None:
    """The slot of ``?slot=``; without one the next of today that has not begun, else the last."""
    asked = front.request.query_params.get("slot", "")
    if asked:
        if not asked.isdecimal() or len(asked) > 9:  # noqa: PLR2004 - digits of a row number
            raise NotHere("no such slot")
        return bookings.slot_view(front.session, int(asked))
    slots = bookings.slots_of(front.session, front.today)
    ahead = [slot for slot in slots if slot.slot.starts_at > front.now]
    return next(iter(ahead or slots[-1:]), None)


def _lines(front: Front, slot: SlotView) -> tuple[list[RailLine], list[ItemView]]:
    guests = bookings.guests_of_slot(front.session, slot.slot.id or 0)
    ids = [guest.id for guest in guests]
    views = kit.items(front.session)
    loans = kit.loans_of(front.session, ids)
    limits = shop_records.limits_now(front.session)
    offers = kit.suggested(guests, loans, views, slot.slot.day, limits)
    lead = kit.weights_of(front.session, ids, slot.slot.id or 0)
    shown = _sizes_shown(front, slot)
    lines = []
    for guest in guests:
        has, offer = loans.get(guest.id or 0, []), offers.get(guest.id or 0, [])
        found = {loan.item.kind for loan in has} | {view.row.kind for view in offer}
        sizes = f"{guest.height_cm:g} cm · {guest.mass_kg:g} kg · shoes {guest.shoe_size:g}"
        lines.append(
            RailLine(
                guest,
                sizes if shown is None or guest.id in shown else "",
                tuple(has),
                tuple(offer),
                tuple(kind for kind in SIZES if kind not in found),
                lead.get(guest.id or 0),
            )
        )
    return lines, views


def _sizes_shown(front: Front, slot: SlotView) -> frozenset[int] | None:
    """Whose sizes the visitor may read; None for everybody's. A guide reads those of own groups of today."""
    who = front.visitor
    if who.has(DESK, MANAGER) or (who.has(LEAD) and slot.slot.day == front.today):
        return None
    if who.has(INSTRUCTOR) and slot.slot.day == front.today:
        return own_guests(front.session, who.person_id, front.today)
    return frozenset()


def _rail_page(front: Front, slot: SlotView | None, problem: ProblemView | None = None) -> Response:
    lines, views = ([], kit.items(front.session)) if slot is None else _lines(front, slot)
    return front.page(
        "kit_rail/kit.html",
        "Kit rail",
        problem=problem,
        slots=bookings.slots_of(front.session, front.today if slot is None else slot.slot.day),
        slot=slot,
        lines=lines,
        total=len(views),
        aside=sum(1 for view in views if view.row.out_of_use_since is not None),
        elsewhere=kit.still_out(front.session, [line.guest.id for line in lines]),
        may_give=front.visitor.has(DESK, LEAD),
        source=SOURCE,
    )


def _guest_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    guest = bookings.guest(front.session, guest_id)
    party = bookings.party_view(front.session, guest.party_id)
    slot = party.slot
    lines, views = _lines(front, slot)
    line = next((one for one in lines if one.guest.id == guest_id), None)
    has = kit.loans_of(front.session, [guest_id]).get(guest_id, [])
    limits = shop_records.limits_now(front.session)
    kinds = [kind for kind in SIZES if kind not in {loan.item.kind for loan in has}]
    free = {
        kind: [
            view
            for view in views
            if view.row.kind == kind and may_give(view.facts, slot.slot.day, limits).allowed
        ]
        for kind in kinds
    }
    lead = kit.weights_of(front.session, [guest_id], slot.slot.id or 0).get(guest_id)
    shown = _sizes_shown(front, slot)
    return front.page(
        "kit_rail/guest.html",
        f"Kit of {guest.call_name}",
        problem=problem,
        guest=guest,
        party=party.party,
        slot=slot,
        coming=line is not None,
        has=has,
        returned=kit.returned(front.session, guest_id, slot.slot.id or 0),
        offer=line.offer if line else (),
        free=free,
        first=first_sizes(guest.height_cm, guest.mass_kg, guest.shoe_size),
        lead=lead,
        suggestion=suggest_lead(front.session, guest, slot, has),
        may_give=front.visitor.has(DESK, LEAD),
        sizes=shown is None or guest.id in shown,
        source=SOURCE,
    )
