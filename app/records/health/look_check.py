"""The log of looks at health records held against the trail, whose chain covers it."""

import json
from typing import Any

from sqlmodel import Session, col, select

from app.records.store.trail import plain
from app.records.tables.health import HealthReadRow
from app.records.tables.house import TrailRow

LOOKS = str(HealthReadRow.__tablename__)


def first_wrong_look(session: Session) -> str | None:
    """Return a plain sentence about the first look that is changed, missing or added; None when whole.

    Looks logged before the trail covered them have lower numbers than the first one that it knows.
    """
    written = _written(session)
    first = min(written, default=None)
    for row in session.exec(select(HealthReadRow).order_by(col(HealthReadRow.id))):
        number = row.id or 0
        if first is None or number < first:
            continue
        said = written.pop(number, None)
        if said is None:
            return f"Look {number} at a health record was added without an entry in the trail."
        if said != _columns(row):
            return f"Look {number} at a health record is not what was written."
    if written:
        return f"Look {min(written)} at a health record is missing."
    return None


def _written(session: Session) -> dict[int, dict[str, Any]]:
    """Return what the trail says of each look, by its number."""
    asked = select(TrailRow.changes).where(col(TrailRow.changes).contains(f'["{LOOKS}", ', autoescape=True))
    return {
        int(number): {name: new for name, (_, new) in columns.items()}
        for changes in session.exec(asked.order_by(col(TrailRow.id)))
        for record, number, columns in json.loads(changes)
        if record == LOOKS
    }


def _columns(row: HealthReadRow) -> dict[str, Any]:
    names = (name for name in type(row).model_fields if name not in ("id", "version"))
    values = {name: plain(getattr(row, name)) for name in names}
    return {name: value for name, value in values.items() if value not in (None, "")}
