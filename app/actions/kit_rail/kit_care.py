"""Caring for kit: faults, rinsing, and services of several items at once."""

from collections.abc import Iterable
from datetime import date

from app.actions.act import Act, Invalid
from app.actions.kit_rail.kit import ITEM_LABELS, LOAN_LABELS
from app.records.kit_rail import kit
from app.records.kit_rail.kit_faults import open_faults
from app.records.setup.shop import limits_now
from app.records.tables.kit import KitItemRow, KitLoanRow
from app.records.tables.kit_keeping import KitFaultRow
from app.rules.kit import SERVICED, next_service

NOT_TOLD = "Something is wrong; not told yet what."
FAULT_LABELS = {"what": "What is wrong", "seen_at": "Seen at", "seen_by": "Seen by"}


def report_kit_fault(act: Act, item_id: int) -> KitFaultRow:
    """Set an item aside at once because something is wrong with it; what it is, is asked afterwards.

    An item whose fault is open already keeps that one. Whatever version the page showed: never refused.
    """
    item = act.get(KitItemRow, item_id)
    act.about = ("kit_item", str(item_id))
    known = open_faults(act.session, [item_id])
    if item.out_of_use_since is None:
        values = {"out_of_use_since": act.now, "out_of_use_by": act.actor.name, "out_of_use_why": NOT_TOLD}
        act.edit(item, None, values, ITEM_LABELS)
    return known[-1] if known else act.add(KitFaultRow(item_id=item_id, at=act.now, by=act.actor.name))


def describe_kit_fault(act: Act, fault_id: int, version: int, what: str) -> KitFaultRow:
    """Write in one line what is wrong with an item that is set aside. Raises Clash, NotHere."""
    fault = act.get(KitFaultRow, fault_id)
    act.edit(fault, version, {"what": what}, FAULT_LABELS)
    item = act.get(KitItemRow, fault.item_id)
    if item.out_of_use_since is not None:
        act.edit(item, None, {"out_of_use_why": what}, ITEM_LABELS)
    act.about = ("kit_item", str(fault.item_id))
    return fault


def see_kit_fault(act: Act, fault_id: int, version: int) -> KitFaultRow:
    """Take a fault off Today: the lead has seen it. The item stays aside. Raises Clash, NotHere."""
    fault = act.get(KitFaultRow, fault_id)
    act.edit(fault, version, {"seen_at": act.now, "seen_by": act.actor.name}, FAULT_LABELS)
    act.about = ("kit_item", str(fault.item_id))
    return fault


def mark_rinsed(act: Act, loan_ids: Iterable[int]) -> list[KitLoanRow]:
    """Say that what came back is clean and dry before the usual time; what is marked already stays so.

    Raises Invalid for an item that is still out, NotHere.
    """
    loans = [act.get(KitLoanRow, loan_id) for loan_id in loan_ids]
    for loan in loans:
        if loan.back_at is None:
            number = act.get(KitItemRow, loan.item_id).number
            raise Invalid({"loan": f"{number} is out again. Take it back first."})
        if loan.rinsed_at is None:
            act.edit(loan, None, {"rinsed_at": act.now, "rinsed_by": act.actor.name}, LOAN_LABELS)
    return loans


def not_rinsed(act: Act, loan_id: int, version: int) -> KitLoanRow:
    """Undo a mark of rinsed: the usual time counts again. Raises Clash, NotHere."""
    loan = act.get(KitLoanRow, loan_id)
    act.edit(loan, version, {"rinsed_at": None, "rinsed_by": ""}, LOAN_LABELS)
    return loan


def service_several(act: Act, item_ids: Iterable[int], on: date) -> list[KitItemRow]:
    """Write down one day's service for several items. Raises Invalid for kit without service, NotHere."""
    due = next_service(on, limits_now(act.session))
    rows = []
    for item_id in item_ids:
        item = kit.item(act.session, item_id).row
        if item.kind not in SERVICED:
            raise Invalid({"item": f"{item.kind.capitalize()} {item.number} needs no service."})
        act.edit(item, None, {"service_due": due}, ITEM_LABELS)
        rows.append(item)
    return rows
