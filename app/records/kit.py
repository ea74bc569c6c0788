"""The kit rail as read: items, who has what, what is free, and lead given."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.problems import NotHere
from app.records.tables.kit import KitItemRow, KitLoanRow, WeightsRow
from app.records.tables.parties import GuestRow
from app.rules.kit import SIZES, KitFacts, may_give
from app.rules.resolve import Limits
from app.rules.size_chart import first_sizes, sizes_to_try


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
    """One item with who has it now. facts: as the rule reads it; out: the open loan, if there is one."""

    row: KitItemRow
    facts: KitFacts
    out: KitLoanRow | None
    holder: GuestRow | None

    @property
    def label(self) -> str:
        """The item in words: "suit W05 (M)"."""
        return item_label(self.row)


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
    found = (
        select(KitLoanRow, GuestRow)
        .join(GuestRow, col(GuestRow.id) == KitLoanRow.guest_id)
        .where(col(KitLoanRow.back_at).is_(None), col(KitLoanRow.item_id).in_([row.id for row in rows]))
    )
    out = {loan.item_id: (loan, guest) for loan, guest in session.exec(found)}
    views = []
    for row in rows:
        loan, guest = out.get(row.id or 0, (None, None))
        views.append(ItemView(row, _facts(row, guest), loan, guest))
    return sorted(views, key=lambda view: _rail_order(view.row))


def item(session: Session, item_id: int) -> ItemView:
    """Return one item; raises NotHere."""
    found = items(session, [item_id])
    if not found:
        raise NotHere(f"kit item {item_id}")
    return found[0]


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


def suggested(
    guests: Iterable[GuestRow],
    loans: dict[int, list[Loan]],
    views: Iterable[ItemView],
    day: date,
    limits: Limits,
) -> dict[int, list[ItemView]]:
    """Return for each guest a free item of each kind still missing, by size; no item is offered twice."""
    free: dict[tuple[str, str], list[ItemView]] = {}
    for view in views:
        if may_give(view.facts, day, limits).allowed:
            free.setdefault((view.row.kind, view.row.size), []).append(view)
    offers: dict[int, list[ItemView]] = {}
    for guest in guests:
        has = {one.item.kind for one in loans.get(guest.id or 0, [])}
        chart = first_sizes(guest.height_cm, guest.mass_kg, guest.shoe_size)
        mine = offers.setdefault(guest.id or 0, [])
        for kind, first in chart.items():
            if kind in has:
                continue
            stock = next(
                (free[(kind, size)] for size in sizes_to_try(kind, first) if free.get((kind, size))), None
            )
            if stock:
                mine.append(stock.pop(0))
    return offers


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


def _facts(row: KitItemRow, holder: GuestRow | None) -> KitFacts:
    return KitFacts(
        number=row.number,
        kind=row.kind,
        size=row.size,
        quarantined=row.out_of_use_since is not None,
        out_with="" if holder is None else holder.call_name,
        service_due=row.service_due,
        quarantine_reason=row.out_of_use_why,
    )


def _rail_order(row: KitItemRow) -> tuple[int, int, str]:
    kinds, sizes = list(SIZES), list(SIZES.get(row.kind, ()))
    return (
        kinds.index(row.kind) if row.kind in kinds else len(kinds),
        sizes.index(row.size) if row.size in sizes else len(sizes),
        row.number,
    )
