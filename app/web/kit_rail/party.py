"""Kit rail: a whole party at once: every suggestion by guest, changed in place, given in one tap."""

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.kit_rail import kit_party as acts
from app.records.kit_rail import kit
from app.records.kit_rail.kit import ItemView, Loan
from app.records.kit_rail.kit_offers import Offered
from app.records.setup import shop as shop_records
from app.records.welcome import bookings
from app.rules.kit import may_give
from app.web.access import DESK, LEAD
from app.web.front import Desk, Front
from app.web.kit_rail.pages import RailLine, lack_words, later_words, lines_of
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
NUMBER_LENGTH = 20


@dataclass(frozen=True)
class Row:
    """One kind that a guest still needs. field: the form's field; number: suggested and free now, or ""."""

    field: str
    kind: str
    try_size: str
    number: str
    size: str
    note: str


@router.get("/kit/parties/{party_id}", name="kit_party")
def kit_party(front: Desk, party_id: int) -> Response:
    """Show what a party has, and what would fit each of its guests."""
    return _page(front, party_id)


@router.post("/kit/parties/{party_id}/give", name="give_party_kit")
def give_party_kit(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Give out every piece whose number stands on the page."""
    bookings.party_view(front.session, party_id)
    asked = {row.field: (line.fit.guest, row) for line, rows in _rows(front, party_id)[0] for row in rows}

    def give(act: Act) -> int:
        fields, wanted = posted.fields(), []
        for name, (guest, row) in asked.items():
            number = fields.text(name, "a number", most=NUMBER_LENGTH, needed=False)
            if number:
                wanted.append(acts.Wanted(name, guest.id or 0, row.kind, number))
        if not wanted and not fields.errors:
            fields.wrong("form", "Write at least one number.")
        fields.done()
        return acts.give_party_kit(act, party_id, wanted)

    return front.do(
        posted,
        give,
        then=lambda _: f"/kit/parties/{party_id}",
        again=lambda problem: _page(front, party_id, problem),
    )


@router.post("/kit/parties/{party_id}/back", name="take_back_party_kit")
def take_back_party_kit(front: Desk, posted: PostedForm, party_id: int) -> Response:
    """Take back what is ticked."""
    view = bookings.party_view(front.session, party_id)
    loans = kit.loans_of(front.session, [guest.id for guest in view.guests])
    known = {str(loan.row.id) for mine in loans.values() for loan in mine}

    def take_back(act: Act) -> int:
        fields = posted.fields()
        chosen = fields.several("loan", "what is back", known)
        if not chosen and "loan" not in fields.errors:
            fields.wrong("loan", "Tick what is back.")
        fields.done()
        return acts.take_back_party_kit(act, party_id, [int(one) for one in chosen])

    return front.do(
        posted,
        take_back,
        then=lambda _: f"/kit/parties/{party_id}",
        again=lambda problem: _page(front, party_id, problem),
    )


def _rows(front: Front, party_id: int) -> tuple[list[tuple[RailLine, list[Row]]], list[ItemView]]:
    """The party's guests, each with a row for every kind still missing; and every item of the rail."""
    party = bookings.party_view(front.session, party_id)
    views = kit.items(front.session)
    found = []
    for line in lines_of(front, party.slot, views):
        if line.fit.guest.party_id != party_id:
            continue
        offers = {one.view.row.kind: one for one in line.fit.offers}
        lacks = {one.kind: lack_words(front, one) for one in line.fit.lacks}
        rows = [_row(front, line, kind, offers.get(kind), lacks.get(kind, "")) for kind in line.fit.missing]
        found.append((line, rows))
    return found, views


def _row(front: Front, line: RailLine, kind: str, offered: Offered | None, lack: str) -> Row:
    field = f"{line.fit.guest.id}-{kind}"
    try_size = line.fit.first[kind] if line.sizes else ""
    if offered is not None and offered.ready:
        return Row(field, kind, try_size, offered.view.row.number, offered.view.row.size, "")
    if offered is not None:
        return Row(field, kind, try_size, "", "", f"Later: {later_words(front, offered)}.")
    return Row(field, kind, try_size, "", "", f"Nothing free: {lack or kind}.")


def _page(front: Front, party_id: int, problem: ProblemView | None = None) -> Response:
    party = bookings.party_view(front.session, party_id)
    lines, views = _rows(front, party_id)
    limits = shop_records.limits_now(front.session)
    kinds = list(dict.fromkeys(row.kind for _, rows in lines for row in rows))
    free = {
        kind: [
            view
            for view in views
            if view.row.kind == kind and may_give(view.facts, party.slot.slot.day, front.now, limits).allowed
        ]
        for kind in kinds
    }
    has: list[tuple[str, list[Loan]]] = []
    loans = kit.loans_of(front.session, [guest.id for guest in party.guests])
    for guest in party.guests:
        if loans.get(guest.id or 0):
            has.append((guest.call_name, loans[guest.id or 0]))
    ready = sum(1 for _, rows in lines for row in rows if row.number)
    kept = problem.lists.get("loan", ()) if problem and problem.action == "take_back_party_kit" else None
    return front.page(
        "kit_rail/party.html",
        f"Kit of the party of {party.party.contact_name}",
        problem=problem,
        party=party.party,
        slot=party.slot,
        lines=lines,
        free=free,
        ready=ready,
        has=has,
        out=sum(len(mine) for _, mine in has),
        kept=kept,
        may_give=front.visitor.has(DESK, LEAD),
    )
