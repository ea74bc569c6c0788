"""What came from paper: the sheets typed in for a group, and health forms that are kept on paper."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, func, select

from app.records.tables.paper import PaperFormRow, PaperRecordRow, PaperSheetRow
from app.rules.limits import ALL


@dataclass(frozen=True)
class PaperView:
    """One sheet that was typed in. records: how many records came from it."""

    row: PaperSheetRow
    records: int

    @property
    def gaps(self) -> tuple[tuple[str, str], ...]:
        """Key and words of each gate that the records do not show as passed."""
        return tuple((key, ALL[key].what) for key in self.row.gaps.split() if key in ALL)


def sheets_by_group(session: Session, group_ids: Iterable[int]) -> dict[int, tuple[PaperView, ...]]:
    """Return the sheets typed in for groups, oldest first, by group number."""
    asked = select(PaperSheetRow).where(col(PaperSheetRow.group_id).in_(list(group_ids)))
    rows = list(session.exec(asked.order_by(col(PaperSheetRow.id))))
    counted = (
        select(PaperRecordRow.sheet_id, func.count())
        .where(col(PaperRecordRow.sheet_id).in_([row.id for row in rows]))
        .group_by(col(PaperRecordRow.sheet_id))
    )
    counts = dict(session.exec(counted).all()) if rows else {}
    found: dict[int, tuple[PaperView, ...]] = {}
    for row in rows:
        view = PaperView(row, counts.get(row.id or 0, 0))
        found[row.group_id] = (*found.get(row.group_id, ()), view)
    return found


def sheets_of(session: Session, group_id: int) -> tuple[PaperView, ...]:
    """Return the sheets typed in for one group, oldest first."""
    return sheets_by_group(session, [group_id]).get(group_id, ())


@dataclass(frozen=True)
class FromPaper:
    """Where one record comes from: the paper's own time, who wrote the paper, who typed it and when."""

    paper_at: datetime
    author: str
    typed_by: str
    typed_at: datetime


def from_paper(session: Session, record: str, ids: Iterable[int | None]) -> dict[int, FromPaper]:
    """Return which records of a table came from paper, by number."""
    found = (
        select(PaperRecordRow, PaperSheetRow)
        .join(PaperSheetRow, col(PaperSheetRow.id) == PaperRecordRow.sheet_id)
        .where(PaperRecordRow.record == record, col(PaperRecordRow.record_id).in_(list(ids)))
    )
    return {
        one.record_id: FromPaper(one.paper_at, sheet.author, sheet.typed_by, sheet.typed_at)
        for one, sheet in session.exec(found)
    }


def forms_kept(session: Session, day: date) -> dict[int, PaperFormRow]:
    """Return who has a health form of a day on paper, newest note of each guest, by guest number."""
    asked = select(PaperFormRow).where(PaperFormRow.day == day).order_by(col(PaperFormRow.id))
    return {row.guest_id: row for row in session.exec(asked)}
