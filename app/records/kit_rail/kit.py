"""The kit rail as read: items, who has what, what is free, and lead given."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sqlmodel import Session, col, func, select

from app.records.store.problems import NotHere
from app.records.tables.kit import KitItemRow, KitLoanRow, WeightsRow
from app.records.tables.parties import GuestRow, SlotRow
from app.rules.kit import SIZES, KitFacts, clean_from
from app.rules.limits import SLOT_LENGTH
from app.rules.resolve import Limits


@dataclass(frozen=True)
class Loan:
    """One item that a guest has, or had."""

    row: KitLoanRow
    item: KitItemRow

    @property
    def label(self) -> str:
        """The item in words: "suit W05 (M)"."""
        return item_label(self.item)


@dataclass(frozen=True)
class ItemView:
    """One item with who has it now.

    facts: as the rule reads it. out, holder, slot: the open loan with its guest and slot, if there is one.
    last: the loan that it came back from last, if it was ever out and came back.
    """

    row: KitItemRow
    facts: KitFacts
    out: KitLoanRow | None
    holder: GuestRow | None
    slot: SlotRow | None = None
    last: KitLoanRow | None = None

    @property
    def label(self) -> str:
        """The item in words: "suit W05 (M)"."""
        return item_label(self.row)

    def back_about(self, now: datetime, limits: Limits) -> datetime | None:
        """When an item that is out should be back: at its slot's end, or any minute now after it.

        None for an item on the rail, and for one that should have been back a slot's length ago.
        """
        minutes = limits[SLOT_LENGTH].number
        if self.slot is None or minutes is None:
            return None
        end = self.slot.starts_at + timedelta(minutes=minutes)
        return None if now > end + timedelta(minutes=minutes) else max(end, now)

    def wet_until(self, now: datetime, limits: Limits) -> datetime | None:
        """Until when an item on the rail waits to be rinsed and dry; None when it does not wait."""
        if self.facts.back_at is None or self.facts.rinsed or self.out is not None:
            return None
        until = clean_from(self.facts.back_at, limits)
        return until if until is not None and until > now else None


def once_clean(facts: KitFacts) -> KitFacts:
    """Return an item's facts as they will be once it is back and clean."""
    return replace(facts, out_with="", back_at=None)


def item_label(item: KitItemRow) -> str:
    """Return an item in words: "suit W05 (M)"."""
    return f"{item.kind} {item.number}" + (f" ({item.size})" if item.size else "")


def loans_of(session: Session, guest_ids: Iterable[int | None]) -> dict[int, list[Loan]]:
    """Return what several guests have now, in the order of the rail, by guest number."""
    found = (
        select(KitLoanRow, KitItemRow)
        .join(KitItemRow, col(KitItemRow.id) == KitLoanRow.item_id)
        .where(
            col(KitLoanRow.guest_id).in_([one for one in guest_ids if one is not None]),
            col(KitLoanRow.back_at).is_(None),
        )
        .order_by(col(KitLoanRow.id))
    )
    loans: dict[int, list[Loan]] = {}
    for row, item in session.exec(found):
        loans.setdefault(row.guest_id, []).append(Loan(row, item))
    order = list(SIZES)
    for mine in loans.values():
        mine.sort(key=lambda loan: order.index(loan.item.kind) if loan.item.kind in order else len(order))
    return loans


def returned(session: Session, guest_id: int, slot_id: int) -> list[Loan]:
    """Return what a guest brought back from a slot, newest first."""
    found = (
        select(KitLoanRow, KitItemRow)
        .join(KitItemRow, col(KitItemRow.id) == KitLoanRow.item_id)
        .where(
            KitLoanRow.guest_id == guest_id,
            KitLoanRow.slot_id == slot_id,
            col(KitLoanRow.back_at).is_not(None),
        )
        .order_by(col(KitLoanRow.back_at).desc(), col(KitLoanRow.id).desc())
    )
    return [Loan(row, item) for row, item in session.exec(found)]


def still_out(session: Session, but_guests: Iterable[int | None]) -> list[tuple[Loan, GuestRow]]:
    """Return everything that is out with anybody but these guests, the longest out first."""
    found = (
        select(KitLoanRow, KitItemRow, GuestRow)
        .join(KitItemRow, col(KitItemRow.id) == KitLoanRow.item_id)
        .join(GuestRow, col(GuestRow.id) == KitLoanRow.guest_id)
        .where(
            col(KitLoanRow.back_at).is_(None),
            col(KitLoanRow.guest_id).not_in([one for one in but_guests if one is not None]),
        )
        .order_by(col(KitLoanRow.out_at), col(KitLoanRow.id))
    )
    return [(Loan(row, item), guest) for row, item, guest in session.exec(found)]


def items(session: Session, ids: Iterable[int] | None = None) -> list[ItemView]:
    """Return every item, or those asked for, by kind and size in the order of the rail, then by number."""
    asked = select(KitItemRow)
    if ids is not None:
        asked = asked.where(col(KitItemRow.id).in_(list(ids)))
    rows = list(session.exec(asked.order_by(KitItemRow.number)))
    numbers = [row.id for row in rows]
    found = (
        select(KitLoanRow, GuestRow, SlotRow)
        .join(GuestRow, col(GuestRow.id) == KitLoanRow.guest_id)
        .join(SlotRow, col(SlotRow.id) == KitLoanRow.slot_id)
        .where(col(KitLoanRow.back_at).is_(None), col(KitLoanRow.item_id).in_(numbers))
    )
    out = {loan.item_id: (loan, guest, slot) for loan, guest, slot in session.exec(found)}
    newest = (
        select(func.max(col(KitLoanRow.id)))
        .where(col(KitLoanRow.back_at).is_not(None), col(KitLoanRow.item_id).in_(numbers))
        .group_by(col(KitLoanRow.item_id))
    )
    back = {
        loan.item_id: loan for loan in session.exec(select(KitLoanRow).where(col(KitLoanRow.id).in_(newest)))
    }
    views = []
    for row in rows:
        loan, guest, slot = out.get(row.id or 0, (None, None, None))
        last = back.get(row.id or 0)
        views.append(ItemView(row, _facts(row, guest, last), loan, guest, slot, last))
    return sorted(views, key=lambda view: _rail_order(view.row))


def item(session: Session, item_id: int) -> ItemView:
    """Return one item; raises NotHere."""
    found = items(session, [item_id])
    if not found:
        raise NotHere(f"kit item {item_id}")
    return found[0]


def item_by_number(session: Session, number: str) -> ItemView | None:
    """Return the item that bears a number, whatever the case of its letters; None for none."""
    rows = session.exec(select(KitItemRow).where(func.lower(KitItemRow.number) == number.lower())).all()
    exact = [row for row in rows if row.number == number] or list(rows)
    return item(session, exact[0].id or 0) if exact else None


def loan(session: Session, loan_id: int) -> Loan:
    """Return one loan, open or not; raises NotHere."""
    row = session.get(KitLoanRow, loan_id)
    held = None if row is None else session.get(KitItemRow, row.item_id)
    if row is None or held is None:
        raise NotHere(f"kit loan {loan_id}")
    return Loan(row, held)


def item_history(session: Session, item_id: int, most: int = 20) -> list[tuple[KitLoanRow, GuestRow]]:
    """Return who had an item, newest first."""
    found = (
        select(KitLoanRow, GuestRow)
        .join(GuestRow, col(GuestRow.id) == KitLoanRow.guest_id)
        .where(KitLoanRow.item_id == item_id)
        .order_by(col(KitLoanRow.id).desc())
        .limit(most)
    )
    return list(session.exec(found))


def weights_of(session: Session, guest_ids: Iterable[int | None], slot_id: int) -> dict[int, WeightsRow]:
    """Return the newest lead given to each guest for a slot, back or not, by guest number."""
    found = (
        select(WeightsRow)
        .where(
            col(WeightsRow.guest_id).in_([one for one in guest_ids if one is not None]),
            WeightsRow.slot_id == slot_id,
        )
        .order_by(col(WeightsRow.id))
    )
    return {row.guest_id: row for row in session.exec(found)}


def lead_out(session: Session, guest_id: int) -> list[WeightsRow]:
    """Return the lead that a guest has and has not brought back."""
    found = select(WeightsRow).where(WeightsRow.guest_id == guest_id, col(WeightsRow.back_at).is_(None))
    return list(session.exec(found))


def weights(session: Session, weights_id: int) -> WeightsRow:
    """Return one handing-out of lead; raises NotHere."""
    row = session.get(WeightsRow, weights_id)
    if row is None:
        raise NotHere(f"weights {weights_id}")
    return row


def _facts(row: KitItemRow, holder: GuestRow | None, last: KitLoanRow | None) -> KitFacts:
    return KitFacts(
        number=row.number,
        kind=row.kind,
        size=row.size,
        quarantined=row.out_of_use_since is not None,
        out_with="" if holder is None else holder.call_name,
        service_due=row.service_due,
        quarantine_reason=row.out_of_use_why,
        back_at=None if last is None else last.back_at,
        rinsed=last is not None and last.rinsed_at is not None,
    )


def _rail_order(row: KitItemRow) -> tuple[int, int, str]:
    kinds, sizes = list(SIZES), list(SIZES.get(row.kind, ()))
    return (
        kinds.index(row.kind) if row.kind in kinds else len(kinds),
        sizes.index(row.size) if row.size in sizes else len(sizes),
        row.number,
    )
