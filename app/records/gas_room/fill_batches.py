"""Batches of fills: what was filled at one moment by one person, and who has those cylinders since."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.records.gas_room.cylinders import open_quarantines
from app.records.gas_room.cylinders_out import Holder, holders
from app.records.store.problems import NotHere
from app.records.tables.compressor import BatchAirRow
from app.records.tables.cylinders import CylinderRow, FillRow, QuarantineRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.parties import SlotRow
from app.records.water_side.water import member_names


@dataclass(frozen=True)
class Batch:
    """Fills written down together. measured: air measured afterwards, oldest first."""

    fills: tuple[tuple[FillRow, CylinderRow], ...]
    measured: tuple[BatchAirRow, ...]

    @property
    def first(self) -> FillRow:
        """The fill that the batch is named by."""
        return self.fills[0][0]

    @property
    def cylinder_ids(self) -> list[int]:
        """The cylinders of the batch."""
        return [row.cylinder_id for row, _ in self.fills]

    @property
    def co_ppm(self) -> float | None:
        """The highest carbon monoxide that was measured of it, in ppm."""
        found = [self.first.co_ppm, *(row.co_ppm for row in self.measured)]
        return max((ppm for ppm in found if ppm is not None), default=None)


@dataclass(frozen=True)
class Had:
    """Somebody who got a cylinder of a batch after its fill. back: whether it is back in the gas room."""

    number: str
    name: str
    group: GroupRow
    slot: SlotRow
    given_at: datetime
    back: bool


@dataclass(frozen=True)
class AsideButOut:
    """A cylinder that is set aside while somebody has it."""

    cylinder: CylinderRow
    quarantine: QuarantineRow
    holder: Holder


def batch_of(session: Session, fill_id: int) -> Batch:
    """Return the batch that a fill belongs to; raises NotHere."""
    one = session.get(FillRow, fill_id)
    if one is None:
        raise NotHere(f"fill {fill_id}")
    found = (
        select(FillRow, CylinderRow)
        .join(CylinderRow, col(CylinderRow.id) == FillRow.cylinder_id)
        .where(FillRow.at == one.at, FillRow.by_id == one.by_id)
        .order_by(col(FillRow.id))
    )
    fills = tuple(session.exec(found))
    measured = select(BatchAirRow).where(BatchAirRow.first_fill_id == fills[0][0].id)
    return Batch(fills, tuple(session.exec(measured.order_by(col(BatchAirRow.id)))))


def newest_batch(session: Session) -> Batch | None:
    """Return the last batch that was written down."""
    newest = session.exec(select(FillRow.id).order_by(col(FillRow.id).desc()).limit(1)).first()
    return None if newest is None else batch_of(session, newest)


def had_since(session: Session, batch: Batch) -> list[Had]:
    """Return who got cylinders of a batch since it was filled, those who still have one first."""
    numbers = {cylinder.id: cylinder.number for _, cylinder in batch.fills}
    found = (
        select(CylinderOutRow, MemberRow, GroupRow, SlotRow)
        .join(MemberRow, col(MemberRow.id) == CylinderOutRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .where(
            col(CylinderOutRow.cylinder_id).in_(batch.cylinder_ids), CylinderOutRow.given_at >= batch.first.at
        )
        .order_by(col(CylinderOutRow.id))
    )
    rows = list(session.exec(found))
    names = member_names(session, [member for _, member, _, _ in rows])
    had = [
        Had(
            numbers[out.cylinder_id],
            names.get(member.id or 0, ""),
            group,
            slot,
            out.given_at,
            out.back_at is not None,
        )
        for out, member, group, slot in rows
    ]
    return sorted(had, key=lambda one: one.back)


def aside_but_out(session: Session, ids: Iterable[int] | None = None) -> list[AsideButOut]:
    """Return the cylinders that are set aside and not back, with who has them."""
    aside = open_quarantines(session, ids)
    out = holders(session, aside) if aside else {}
    rows = session.exec(select(CylinderRow).where(col(CylinderRow.id).in_(list(out))))
    return [AsideButOut(row, aside[row.id or 0], out[row.id or 0]) for row in rows]
