"""Incidents and near misses as read."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.store.problems import NotHere
from app.records.tables.days import IncidentNoteRow, IncidentRow
from app.records.tables.groups import GroupRow


@dataclass(frozen=True)
class IncidentView:
    """One incident with its group and later notes."""

    row: IncidentRow
    group: GroupRow | None
    notes: tuple[IncidentNoteRow, ...]


def incidents_of(session: Session, day: date) -> list[IncidentView]:
    """Return the incidents of a day: unread serious ones first, then in order of time."""
    rows = list(session.exec(select(IncidentRow).where(IncidentRow.day == day)))
    rows.sort(
        key=lambda row: (row.severity != "serious" or row.read_at is not None, row.happened_at, row.id or 0)
    )
    return _views(session, rows)


def incidents_of_group(session: Session, group_id: int) -> list[IncidentView]:
    """Return the incidents of a group, oldest first."""
    found = select(IncidentRow).where(IncidentRow.group_id == group_id).order_by(col(IncidentRow.id))
    return _views(session, session.exec(found))


def incident(session: Session, incident_id: int) -> IncidentView:
    """Return one incident; raises NotHere."""
    row = session.get(IncidentRow, incident_id)
    if row is None:
        raise NotHere(f"incident {incident_id}")
    return _views(session, [row])[0]


def _views(session: Session, rows: Iterable[IncidentRow]) -> list[IncidentView]:
    wanted = list(rows)
    group_ids = [row.group_id for row in wanted if row.group_id is not None]
    groups = {g.id: g for g in session.exec(select(GroupRow).where(col(GroupRow.id).in_(group_ids)))}
    notes: dict[int, list[IncidentNoteRow]] = {}
    asked = select(IncidentNoteRow).where(col(IncidentNoteRow.incident_id).in_([row.id for row in wanted]))
    for note in session.exec(asked.order_by(col(IncidentNoteRow.id))):
        notes.setdefault(note.incident_id, []).append(note)
    return [IncidentView(row, groups.get(row.group_id), tuple(notes.get(row.id or 0, ()))) for row in wanted]
