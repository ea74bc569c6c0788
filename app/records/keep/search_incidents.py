"""Incidents found by their words and day, by those who may read them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import or_
from sqlmodel import Session, col, select

from app.records.tables.days import IncidentNoteRow, IncidentRow
from app.records.tables.groups import MemberRow
from app.rules.folding import fold
from app.rules.incidents import CATEGORIES


@dataclass(frozen=True)
class Reader:
    """Who reads: everything, or what was written by the person, of one day, of groups the person was in."""

    person_id: int | None
    everything: bool = False
    day: date | None = None
    own_groups: bool = False


@dataclass(frozen=True)
class FoundIncident:
    """An incident that was found."""

    incident_id: int
    what: str
    severity: str
    day: date


def find_incidents(
    session: Session, words: Sequence[str], day: date | None, reader: Reader, most: int
) -> list[FoundIncident]:
    """Return incidents newest first, one more than ``most``; every word stands in it or in a later note."""
    asked = select(IncidentRow).order_by(col(IncidentRow.happened_at).desc(), col(IncidentRow.id).desc())
    if day is not None:
        asked = asked.where(IncidentRow.day == day)
    if not reader.everything:
        mine = [col(IncidentRow.written_by_id) == reader.person_id]
        if reader.day is not None:
            mine.append(col(IncidentRow.day) == reader.day)
        if reader.own_groups:
            groups = select(MemberRow.group_id).where(
                MemberRow.person_id == reader.person_id, col(MemberRow.left_at).is_(None)
            )
            mine.append(col(IncidentRow.group_id).in_(groups))
        asked = asked.where(or_(*mine))
    rows = list(session.exec(asked))
    notes: dict[int, str] = {}
    if words and rows:
        for note in session.exec(select(IncidentNoteRow)):
            notes[note.incident_id] = f"{notes.get(note.incident_id, '')} {note.note}"
    found = []
    for row in rows:
        kind = CATEGORIES.get(row.category, row.category)
        text = fold(f"incident {kind} {row.what} {row.action_taken} {notes.get(row.id or 0, '')}")
        if all(word in text for word in words):
            found.append(FoundIncident(row.id or 0, row.what, row.severity, row.day))
        if len(found) > most:
            break
    return found
