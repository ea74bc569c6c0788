"""The folded words that search reads, kept beside the records by the session that writes them.

No two stores fold letters alike, so the words are folded here once, when a record is written, and not each
time somebody searches. A record that was emptied (an erased guest) has no entry and is not found.
"""

from typing import Any

from sqlalchemy import delete, event, func, insert
from sqlmodel import Session, col, select

from app.records.tables.base import Row
from app.records.tables.parties import GuestRow, PartyRow, name_once_erased
from app.records.tables.returning import SearchEntryRow
from app.rules.folding import digits_of, fold, fold_key

GUEST, PARTY = "guest", "party"
_AT_ONCE = 1000


def watch(session: Session) -> None:
    """Keep the entries up with everything that this session writes from now on."""
    event.listen(session, "after_flush", _keep_up)


def fill_missing(session: Session) -> None:
    """Make the entries of records that have none: of a shop that was in use before there were entries."""
    for kind, name in ((GuestRow, GUEST), (PartyRow, PARTY)):
        newest = session.exec(select(func.max(col(kind.id)))).one()
        known = session.exec(
            select(func.max(SearchEntryRow.record_id)).where(SearchEntryRow.record == name)
        ).one()
        if newest is not None and (known or 0) < newest:
            _fill(session, kind, known or 0)


def _fill(session: Session, kind: type[GuestRow] | type[PartyRow], after: int) -> None:
    asked = select(kind).where(col(kind.id) > after).order_by(col(kind.id))
    waiting = []
    for row in session.exec(asked).yield_per(_AT_ONCE):
        entry = _entry(row)
        if entry is not None:
            waiting.append(entry)
    for first in range(0, len(waiting), _AT_ONCE):
        session.connection().execute(insert(SearchEntryRow), waiting[first : first + _AT_ONCE])


def _keep_up(session: Any, _context: Any) -> None:
    rows = [row for row in (*session.new, *session.dirty) if isinstance(row, GuestRow | PartyRow)]
    for row in rows:
        entry, name = _entry(row), _name(row)
        connection = session.connection()
        connection.execute(
            delete(SearchEntryRow).where(
                col(SearchEntryRow.record) == name, col(SearchEntryRow.record_id) == row.id
            )
        )
        if entry is not None:
            connection.execute(insert(SearchEntryRow), entry)


def _entry(row: Row) -> dict[str, Any] | None:
    """Return the entry of a record; None for one whose names are gone."""
    if isinstance(row, GuestRow | PartyRow) and _erased(row):
        return None
    if isinstance(row, GuestRow):
        words, digits = fold_key(row.full_name, row.call_name), ""
    elif isinstance(row, PartyRow):
        words, digits = fold(row.contact_name), digits_of(row.phone)
    else:
        return None
    if not words and not digits:
        return None
    return {"record": _name(row), "record_id": row.id, "words": words, "digits": digits}


def _erased(row: GuestRow | PartyRow) -> bool:
    name = row.full_name if isinstance(row, GuestRow) else row.contact_name
    return name == name_once_erased(row.ref)


def _name(row: Row) -> str:
    return GUEST if isinstance(row, GuestRow) else PARTY
