"""Kit rail: giving to the guests of a slot, taking back, one guest's kit, and lead."""

from collections.abc import Callable

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.kit_rail import kit as acts
from app.actions.kit_rail.kit_fit import tell_fit as tell_fit_act
from app.records.kit_rail import kit, kit_sizes
from app.records.kit_rail.lead import suggest_lead
from app.records.setup import shop as shop_records
from app.records.welcome import bookings
from app.rules.kit import SIZES, how_to_clean, may_give
from app.rules.size_chart import FIT_WORDS, SOURCE
from app.web.access import DESK, LEAD
from app.web.front import NUMBER_MOST, Desk, Front
from app.web.kit_rail.pages import lack_words, later_words, lines_of, rail_page, sizes_shown, slot_asked
from app.web.kit_rail.stock import item_page
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm, button_only

router = APIRouter()
MOST_LEAD_KG = 25
MOST_ITEMS = 12


@router.get("/kit", name="kit")
def kit_rail(front: Desk) -> Response:
    """Show the guests of a slot with what they have and what fits them."""
    return rail_page(front, slot_asked(front))


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


@router.post("/kit/loans/{loan_id}/fit", name="tell_fit")
def tell_fit(front: Desk, posted: PostedForm, loan_id: int) -> Response:
    """Remember how a size sits; what is too small or too large goes back onto the rail."""
    loan = kit.loan(front.session, loan_id)

    def tell(act: Act) -> None:
        fields = posted.fields()
        said = fields.choice("said", "how it fits", FIT_WORDS)
        fields.done()
        tell_fit_act(act, loan_id, posted.edits, said)

    return _do(front, posted, loan.row.guest_id, tell)


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
    """Carry out an act and go back to the page it came from.

    That is the rail (``?rail``), an item's page (``?item=7``), or the guest's own.
    """
    guest = bookings.guest(front.session, guest_id)
    slot = bookings.party_view(front.session, guest.party_id).slot
    asked = front.request.query_params
    if "rail" in asked:
        return front.do(
            posted,
            action,
            then=lambda _: f"/kit?slot={slot.slot.id}#person-guest-{guest_id}",
            again=lambda problem: rail_page(front, slot, problem),
        )
    said = asked.get("item", "")
    if said.isdecimal() and len(said) <= NUMBER_MOST:
        item_id = kit.item(front.session, int(said)).row.id or 0
        return front.do(
            posted,
            action,
            then=lambda _: f"/kit/items/{item_id}",
            again=lambda problem: item_page(front, item_id, problem),
        )
    return front.do(
        posted,
        action,
        then=lambda _: f"/kit/guests/{guest_id}",
        again=lambda problem: _guest_page(front, guest_id, problem),
    )


def _guest_page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    guest = bookings.guest(front.session, guest_id)
    party = bookings.party_view(front.session, guest.party_id)
    slot = party.slot
    views = kit.items(front.session)
    line = next((one for one in lines_of(front, slot, views) if one.fit.guest.id == guest_id), None)
    has = kit.loans_of(front.session, [guest_id]).get(guest_id, [])
    limits = shop_records.limits_now(front.session)
    kinds = [kind for kind in SIZES if kind not in {loan.item.kind for loan in has}]
    free = {
        kind: [
            view
            for view in views
            if view.row.kind == kind and may_give(view.facts, slot.slot.day, front.now, limits).allowed
        ]
        for kind in kinds
    }
    told = kit_sizes.told_of(front.session, [guest])[guest_id]
    lead = kit.weights_of(front.session, [guest_id], slot.slot.id or 0).get(guest_id)
    shown = sizes_shown(front, slot)
    return front.page(
        "kit_rail/guest.html",
        f"Kit of {guest.call_name}",
        problem=problem,
        guest=guest,
        party=party.party,
        slot=slot,
        line=line,
        has=has,
        returned=kit.returned(front.session, guest_id, slot.slot.id or 0),
        limits=limits,
        free=free,
        told={kind: {one.size: one.said for one in notes} for kind, notes in told.items()},
        lead=lead,
        suggestion=suggest_lead(front.session, guest, slot, has),
        may_give=front.visitor.has(DESK, LEAD),
        sizes=shown is None or guest.id in shown,
        later=lambda one: later_words(front, one),
        lack=lambda one: lack_words(front, one),
        clean=how_to_clean,
        sized=lambda kind: bool(SIZES.get(kind)),
        fit_words=FIT_WORDS,
        source=SOURCE,
    )
