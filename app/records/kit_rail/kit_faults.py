"""Faults of kit as read: what is open, what was, and who used an item on a day."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.kit_rail.kit import item_label
from app.records.store.problems import NotHere
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.kit import KitItemRow, KitLoanRow
from app.records.tables.kit_keeping import KitFaultRow
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import SlotView, slots_of


@dataclass(frozen=True)
class Use:
    """One guest who had an item for a slot of a day: in which group, and who gave it out."""

    loan: KitLoanRow
    guest: GuestRow
    slot: SlotView
    group: str

    @property
    def words(self) -> str:
        """The use in words, without the guest's name."""
        group = f", group {self.group}" if self.group else ", no group"
        return f"{self.slot.label}{group}, given out by {self.loan.out_by}"


@dataclass(frozen=True)
class FaultView:
    """A fault with its item and everybody who used the item that day."""

    row: KitFaultRow
    item: KitItemRow
    uses: tuple[Use, ...]

    @property
    def label(self) -> str:
        """The item in words: "suit W05 (M)"."""
        return item_label(self.item)


def fault(session: Session, fault_id: int) -> KitFaultRow:
    """Return one fault; raises NotHere."""
    row = session.get(KitFaultRow, fault_id)
    if row is None:
        raise NotHere(f"kit fault {fault_id}")
    return row


def open_faults(session: Session, item_ids: Iterable[int]) -> list[KitFaultRow]:
    """Return the faults of these items that nobody has ended, oldest first."""
    asked = select(KitFaultRow).where(
        col(KitFaultRow.item_id).in_(list(item_ids)), col(KitFaultRow.closed_at).is_(None)
    )
    return list(session.exec(asked.order_by(col(KitFaultRow.id))))


def faults_of(session: Session, item_id: int) -> list[KitFaultRow]:
    """Return every fault that an item ever had, newest first."""
    asked = select(KitFaultRow).where(KitFaultRow.item_id == item_id)
    return list(session.exec(asked.order_by(col(KitFaultRow.id).desc())))


def not_seen(session: Session, day: date) -> list[FaultView]:
    """Return the open faults that no lead has seen yet, oldest first, with who used the item on a day."""
    found = list(
        session.exec(
            select(KitFaultRow, KitItemRow)
            .join(KitItemRow, col(KitItemRow.id) == KitFaultRow.item_id)
            .where(col(KitFaultRow.seen_at).is_(None), col(KitFaultRow.closed_at).is_(None))
            .order_by(col(KitFaultRow.id))
        )
    )
    uses = uses_on(session, [item.id or 0 for _, item in found], day) if found else {}
    return [FaultView(row, item, tuple(uses.get(item.id or 0, ()))) for row, item in found]


def uses_on(session: Session, item_ids: Iterable[int], day: date) -> dict[int, list[Use]]:
    """Return who had these items for the slots of a day, in the order of giving out, by item number."""
    slots = {one.slot.id or 0: one for one in slots_of(session, day)}
    found = list(
        session.exec(
            select(KitLoanRow, GuestRow)
            .join(GuestRow, col(GuestRow.id) == KitLoanRow.guest_id)
            .where(col(KitLoanRow.item_id).in_(list(item_ids)), col(KitLoanRow.slot_id).in_(list(slots)))
            .order_by(col(KitLoanRow.id))
        )
    )
    members = session.exec(
        select(MemberRow.guest_id, GroupRow.slot_id, GroupRow.name)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .where(
            col(MemberRow.guest_id).in_([guest.id for _, guest in found]),
            col(GroupRow.slot_id).in_(list(slots)),
            col(MemberRow.left_at).is_(None),
        )
    )
    groups = {(guest_id, slot_id): name for guest_id, slot_id, name in members}
    uses: dict[int, list[Use]] = {}
    for loan, guest in found:
        group = groups.get((guest.id, loan.slot_id), "")
        uses.setdefault(loan.item_id, []).append(Use(loan, guest, slots[loan.slot_id], group))
    return uses
