"""The kit rail: giving items and lead to guests, taking them back, and keeping the items fit for use."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime

from app.actions.act import Act, Invalid
from app.records.kit_rail import kit
from app.records.kit_rail.kit_faults import open_faults
from app.records.kit_rail.lead import suggest_lead
from app.records.setup.shop import limits_now
from app.records.tables.kit import KitItemRow, KitLoanRow, WeightsRow
from app.records.tables.kit_keeping import KitFaultRow
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import party_view
from app.rules.kit import may_give, may_hold, next_service
from app.rules.party_change import stands_booked

LOAN_LABELS = {
    "back_at": "Back at",
    "back_by": "Taken back by",
    "rinsed_at": "Rinsed at",
    "rinsed_by": "Rinsed by",
}
ITEM_LABELS = {
    "out_of_use_since": "Out of use since",
    "out_of_use_by": "Set aside by",
    "out_of_use_why": "Why",
    "service_due": "Service counts until",
}


def give_kit(act: Act, guest_id: int, item_ids: Iterable[int]) -> list[KitLoanRow]:
    """Give items to a booked guest, all or none.

    Raises Refused for an item out of use, due for service, not rinsed or with somebody, and for a kind that
    the guest has already; NotHere.
    """
    guest = act.get(GuestRow, guest_id)
    view = party_view(act.session, guest.party_id)
    act.allow(stands_booked(view.party.state) + stands_booked(guest.state))
    limits = limits_now(act.session)
    loans = []
    for item_id in item_ids:
        item = kit.item(act.session, item_id)
        has = [loan.item for loan in kit.loans_of(act.session, [guest_id]).get(guest_id, [])]
        same = next((one.number for one in has if one.kind == item.row.kind), "")
        day = view.slot.slot.day
        act.allow(may_give(item.facts, day, act.now, limits) + may_hold(guest.call_name, item.facts, same))
        loan = KitLoanRow(
            item_id=item_id,
            guest_id=guest_id,
            slot_id=view.slot.slot.id or 0,
            out_at=act.now,
            out_by=act.actor.name,
        )
        loans.append(act.add(loan))
    act.about = ("guest", str(guest_id))
    return loans


def take_back_kit(act: Act, loan_id: int, version: int) -> KitLoanRow:
    """Take one item back; raises Clash when somebody did already, NotHere."""
    loan = act.get(KitLoanRow, loan_id)
    act.edit(loan, version, {"back_at": act.now, "back_by": act.actor.name}, LOAN_LABELS)
    act.about = ("guest", str(loan.guest_id))
    return loan


def take_back_all_kit(act: Act, guest_id: int) -> GuestRow:
    """Take back every item and the lead that a guest still has; what is back already stays so. NotHere."""
    guest = act.get(GuestRow, guest_id)
    values = {"back_at": act.now, "back_by": act.actor.name}
    for loan in kit.loans_of(act.session, [guest_id]).get(guest_id, []):
        act.edit(loan.row, None, values, LOAN_LABELS)
    for row in kit.lead_out(act.session, guest_id):
        act.edit(row, None, values, LOAN_LABELS)
    act.about = ("guest", str(guest_id))
    return guest


def undo_kit_back(act: Act, loan_id: int, version: int) -> KitLoanRow:
    """Undo taking an item back; raises Clash, NotHere, Refused when it went to somebody else or aside."""
    loan = act.get(KitLoanRow, loan_id)
    guest = act.get(GuestRow, loan.guest_id)
    item = kit.item(act.session, loan.item_id)
    has = [one.item for one in kit.loans_of(act.session, [loan.guest_id]).get(loan.guest_id, [])]
    same = next((one.number for one in has if one.kind == item.row.kind), "")
    if loan.version == version:
        # Asked first: the store itself refuses a second open loan of one item.
        day = party_view(act.session, guest.party_id).slot.slot.day
        # What is undone never came back, so it was in nobody else's hands that it needed rinsing for.
        mine = item.last is not None and item.last.id == loan_id
        facts = replace(item.facts, back_at=None) if mine else item.facts
        limits = limits_now(act.session)
        act.allow(may_give(facts, day, act.now, limits) + may_hold(guest.call_name, item.facts, same))
    values = {"back_at": None, "back_by": "", "rinsed_at": None, "rinsed_by": ""}
    act.edit(loan, version, values, LOAN_LABELS)
    act.about = ("guest", str(loan.guest_id))
    return loan


def give_weights(act: Act, guest_id: int, given_kg: float) -> WeightsRow:
    """Write down the lead given to a booked guest, in kg, beside what was suggested at that moment.

    Lead given earlier for the same slot counts as back. Raises Refused, NotHere.
    """
    guest = act.get(GuestRow, guest_id)
    view = party_view(act.session, guest.party_id)
    act.allow(stands_booked(view.party.state) + stands_booked(guest.state))
    for row in kit.lead_out(act.session, guest_id):
        act.edit(row, None, {"back_at": act.now, "back_by": act.actor.name}, LOAN_LABELS)
    has = kit.loans_of(act.session, [guest_id]).get(guest_id, [])
    suggestion = suggest_lead(act.session, guest, view.slot, has)
    act.about = ("guest", str(guest_id))
    return act.add(
        WeightsRow(
            guest_id=guest_id,
            slot_id=view.slot.slot.id or 0,
            suggested_kg=suggestion.kg,
            method=suggestion.method,
            plain_kg=suggestion.plain_kg,
            suit=suggestion.suit,
            given_kg=given_kg,
            given_by=act.actor.name,
            at=act.now,
        )
    )


def take_back_weights(act: Act, weights_id: int, version: int) -> WeightsRow:
    """Take lead back; raises Clash when somebody did already, NotHere."""
    row = act.get(WeightsRow, weights_id)
    act.edit(row, version, {"back_at": act.now, "back_by": act.actor.name}, LOAN_LABELS)
    act.about = ("guest", str(row.guest_id))
    return row


def set_kit_aside(act: Act, item_id: int, version: int, why: str) -> KitItemRow:
    """Put an item out of use, with a reason; the lead of the day is told. Raises Clash, NotHere."""
    item = _use(act, item_id, version, act.now, act.actor.name, why)
    act.add(KitFaultRow(item_id=item_id, at=act.now, by=act.actor.name, what=why))
    return item


def kit_back_in_use(act: Act, item_id: int, version: int, found: str) -> KitItemRow:
    """Take an item back into use and end its faults with what was found and done. Raises Clash, NotHere."""
    act.reason = found
    item = _use(act, item_id, version, None, "", "")
    for fault in open_faults(act.session, [item_id]):
        values = {"closed_at": act.now, "closed_by": act.actor.name, "closed_why": found}
        act.edit(fault, None, values, {})
    return item


def kit_serviced(act: Act, item_id: int, version: int, on: date) -> KitItemRow:
    """Write down a service; it counts as long as the shop's interval says. Raises Clash, NotHere."""
    item = act.get(KitItemRow, item_id)
    act.edit(item, version, {"service_due": next_service(on, limits_now(act.session))}, ITEM_LABELS)
    act.about = ("kit_item", str(item_id))
    return item


def add_kit_item(
    act: Act, kind: str, number: str, size: str, thickness_mm: float | None, serviced: date | None
) -> KitItemRow:
    """Add an item to the rail; raises Invalid for a number that another item bears."""
    if any(view.row.number.casefold() == number.casefold() for view in kit.items(act.session)):
        raise Invalid({"number": f"There is an item {number} already. Choose another number."})
    due = None if serviced is None else next_service(serviced, limits_now(act.session))
    row = act.add(KitItemRow(kind=kind, number=number, size=size, thickness_mm=thickness_mm, service_due=due))
    act.about = ("kit_item", str(row.id))
    return row


def _use(act: Act, item_id: int, version: int, since: datetime | None, by: str, why: str) -> KitItemRow:
    item = act.get(KitItemRow, item_id)
    values = {"out_of_use_since": since, "out_of_use_by": by, "out_of_use_why": why}
    act.edit(item, version, values, ITEM_LABELS)
    act.about = ("kit_item", str(item_id))
    return item
