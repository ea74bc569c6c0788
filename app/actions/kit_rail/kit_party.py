"""The rail for a queue: one scanned piece after the other, and the kit of a whole party at once."""

from collections.abc import Iterable
from dataclasses import dataclass

from app.actions.act import Act, Invalid
from app.actions.kit_rail.kit import LOAN_LABELS, give_kit, take_back_kit
from app.records.kit_rail import kit
from app.records.kit_rail.kit import ItemView
from app.records.setup.shop import limits_now
from app.records.tables.kit import KitLoanRow
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import party_view
from app.rules.decision import ALLOWED, Reason
from app.rules.kit import may_give, may_hold
from app.rules.limits import KIT_FREE
from app.rules.party_change import stands_booked


@dataclass(frozen=True)
class Wanted:
    """A piece chosen for a guest by its number. field: the form's field, for its sentence."""

    field: str
    guest_id: int
    kind: str
    number: str


def scan(act: Act, number: str, guest_id: int | None) -> KitLoanRow:
    """Give the piece with this number to a guest; without a guest take it back from whoever has it.

    Raises Invalid when the number is not on the rail, or when it is where it should be already; Refused.
    """
    item = kit.item_by_number(act.session, number)
    if item is None:
        raise Invalid({"number": f"Nothing on the rail bears the number {number}. Look at the label again."})
    what = f"{item.row.kind.capitalize()} {item.row.number}"
    if guest_id is None:
        if item.out is None or item.holder is None:
            raise Invalid({"number": f"{what} is with nobody. Choose a guest to give it to."})
        _say(act, f"{what} is back from {item.facts.out_with}.")
        return take_back_kit(act, item.out.id or 0, item.out.version)
    if item.out is not None and item.out.guest_id == guest_id:
        raise Invalid({"number": f"{what} is with {item.facts.out_with} already."})
    loan = give_kit(act, guest_id, [item.row.id or 0])[0]
    _say(act, f"{what} went to {act.get(GuestRow, guest_id).call_name}.")
    return loan


def give_party_kit(act: Act, party_id: int, wanted: Iterable[Wanted]) -> int:
    """Give every piece chosen for the guests of a party, all or none; returns how many.

    Raises Invalid with a sentence beside each number that is not what it should be, Refused with the
    reasons of every piece that may not go out, NotHere.
    """
    view = party_view(act.session, party_id)
    guests = {guest.id or 0: guest for guest in view.booked}
    act.allow(stands_booked(view.party.state))
    chosen = list(wanted)
    items = _pieces(act, chosen)
    has = {
        number: {loan.item.kind: loan.item.number for loan in loans}
        for number, loans in kit.loans_of(act.session, guests).items()
    }
    limits, decision = limits_now(act.session), ALLOWED
    for one in chosen:
        guest, facts = guests.get(one.guest_id), items[one.field].facts
        if guest is None:
            gone = act.get(GuestRow, one.guest_id)
            act.allow(stands_booked(gone.state))
            raise Invalid({one.field: f"{gone.call_name} is in another party now. Open the page again."})
        decision += may_give(facts, view.slot.slot.day, act.now, limits)
        decision += may_hold(guest.call_name, facts, has.get(one.guest_id, {}).get(one.kind, ""))
    act.allow(decision)
    for one in chosen:
        act.add(
            KitLoanRow(
                item_id=items[one.field].row.id or 0,
                guest_id=one.guest_id,
                slot_id=view.slot.slot.id or 0,
                out_at=act.now,
                out_by=act.actor.name,
            )
        )
    act.about = ("party", str(party_id))
    return len(chosen)


def take_back_party_kit(act: Act, party_id: int, loan_ids: Iterable[int]) -> int:
    """Take back these items of a party; what is back already stays so. Returns how many; NotHere."""
    view = party_view(act.session, party_id)
    mine = {guest.id for guest in view.guests}
    count = 0
    for loan_id in loan_ids:
        loan = act.get(KitLoanRow, loan_id)
        if loan.guest_id in mine and loan.back_at is None:
            act.edit(loan, None, {"back_at": act.now, "back_by": act.actor.name}, LOAN_LABELS)
            count += 1
    act.about = ("party", str(party_id))
    return count


def _say(act: Act, text: str) -> None:
    """Tell on the next page where the piece is now, so that a slip is seen before the next scan."""
    act.notices.append(Reason(KIT_FREE.key, text, "", ""))


def _pieces(act: Act, wanted: list[Wanted]) -> dict[str, ItemView]:
    """The item behind each number; raises Invalid for unknown, wrong and doubled ones."""
    items: dict[str, ItemView] = {}
    wrong: dict[str, str] = {}
    by_number = {view.row.number.casefold(): view for view in kit.items(act.session)}
    for one in wanted:
        item = by_number.get(one.number.casefold())
        if item is None:
            wrong[one.field] = f"Nothing on the rail bears the number {one.number}."
        elif item.row.kind != one.kind:
            wrong[one.field] = f"{item.row.number} is of another kind: {item.label}."
        elif any(item.row.id == other.row.id for other in items.values()):
            wrong[one.field] = f"{item.row.number} stands here twice. Choose another for one of them."
        else:
            items[one.field] = item
    if wrong:
        raise Invalid(wrong)
    return items
