"""The trail: what every act changed, collected from the session itself so that no act can forget it.

Entries are chained with a keyed hash: each holds the hash of the one before, its own number and its
content. Personal values are sealed with that person's key; secret values (health answers, hashes)
never reach it at all.
"""

import hashlib
import hmac
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any, cast

from sqlalchemy import event, inspect
from sqlmodel import Session, col, select

from app.records.store.sealing import KeyRing, Sealed
from app.records.tables.base import Row
from app.records.tables.house import TrailRow

HIDDEN = "(not kept here)"
FIRST = "0" * 64
AT_ONCE = 2000
_COLUMNS = cast("Any", TrailRow).__table__.columns


@dataclass
class Change:
    """One row that an act added or changed: column -> [old, new]."""

    record: str
    record_id: str
    columns: dict[str, list[Any]]


@dataclass
class Collector:
    """Collects the changes of one writing session as they are flushed."""

    ring: KeyRing
    changes: list[Change] = field(default_factory=list)

    def watch(self, session: Session) -> None:
        """Note every row that this session adds or changes from now on."""
        event.listen(session, "after_flush", self._note)

    def _note(self, session: Any, _context: Any) -> None:
        for row in (*session.new, *session.dirty):
            if isinstance(row, Row) and row.in_trail:
                columns = dict(self._columns(row, fresh=row in session.new))
                if columns:
                    self.changes.append(Change(_name(row), str(_key(row)), columns))
        for row in session.deleted:
            if isinstance(row, Row) and row.in_trail:
                raise RuntimeError(
                    f"{_name(row)} {_key(row)}: the shop's records are never deleted row by row"
                )

    def _columns(self, row: Row, *, fresh: bool) -> Iterator[tuple[str, list[Any]]]:
        state = inspect(row)
        for name in cast("Any", state).mapper.column_attrs.keys():  # noqa: SIM118 - no mapping
            history = cast("Any", state).attrs[name].history
            new = getattr(row, name)
            if name in ("id", "version") or (not fresh and not history.has_changes()):
                continue
            old = history.deleted[0] if history.deleted and not fresh else None
            if fresh and new in (None, ""):
                continue
            if name in row.secret:
                yield name, [None if old is None else HIDDEN, HIDDEN]
            else:
                yield name, [self._told(row, name, old), self._told(row, name, new)]

    def _told(self, row: Row, name: str, value: Any) -> Any:
        value = plain(value)
        owner = row.key_owner()
        if value is None or name not in row.personal or owner is None:
            return value
        try:
            return {"sealed": self.ring.seal(owner, f"trail:{name}", json.dumps(value)), "of": owner}
        except Sealed:
            # The owner was erased: what is written now holds nothing about that person.
            return HIDDEN


def plain(value: Any) -> Any:
    """Return a value as JSON can hold it: instants in UTC ISO 8601, dates ISO 8601."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return value


def add(session: Session, chain_key: bytes, entry: TrailRow, changes: list[Change]) -> None:
    """Append one entry; its number is its arrival order and part of what the chain covers."""
    last = session.exec(select(TrailRow).order_by(col(TrailRow.id).desc()).limit(1)).first()
    entry.id = 1 if last is None or last.id is None else last.id + 1
    entry.changes = json.dumps([[c.record, c.record_id, c.columns] for c in changes], ensure_ascii=False)
    if changes and not entry.record:
        entry.record, entry.record_id = changes[0].record, changes[0].record_id
    entry.chain = link_of(chain_key, FIRST if last is None else last.chain, entry)
    session.add(entry)


def link_of(chain_key: bytes, before: str, entry: Any) -> str:
    """Return the keyed hash that ties an entry, or its columns, to the one before it (HMAC-SHA-256, hex)."""
    said = [
        entry.id, plain(entry.at), entry.person_id, entry.who, entry.role, entry.device,
        entry.act, entry.record, entry.record_id, entry.changes, entry.reason,
    ]  # fmt: skip
    text = before + json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    return hmac.new(chain_key, text.encode(), hashlib.sha256).hexdigest()


def head(session: Session) -> tuple[int, str]:
    """Return the number and hash of the newest entry ((0, zeros) in an empty trail)."""
    last = session.exec(select(TrailRow).order_by(col(TrailRow.id).desc()).limit(1)).first()
    return (0, FIRST) if last is None or last.id is None else (last.id, last.chain)


def newest_fits(session: Session, chain_key: bytes) -> bool:
    """Return whether the newest entry was written with this key (an empty trail fits every key)."""
    newest = list(session.exec(select(TrailRow).order_by(col(TrailRow.id).desc()).limit(2)))
    if not newest:
        return True
    before = newest[1].chain if len(newest) > 1 else FIRST
    return hmac.compare_digest(newest[0].chain, link_of(chain_key, before, newest[0]))


def first_wrong(session: Session, chain_key: bytes) -> str | None:
    """Return a plain sentence about the first entry that is changed, missing or added; None when whole."""
    before = FIRST
    # Columns and not rows of the session: years of entries are gone through in seconds.
    entries = select(*_COLUMNS).order_by(col(TrailRow.id)).execution_options(yield_per=AT_ONCE)
    for number, entry in enumerate(session.execute(entries), 1):
        if entry.id != number:
            return f"Trail entry {number} is missing."
        if not hmac.compare_digest(entry.chain, link_of(chain_key, before, entry)):
            return f"Trail entry {number} ({entry.act}, {plain(entry.at)}) is not what was written."
        before = entry.chain
    return None


def _name(row: Row) -> str:
    return str(type(row).__tablename__)


def _key(row: Row) -> Any:
    return (
        cast("Any", inspect(row)).identity[0]
        if cast("Any", inspect(row)).identity
        else getattr(row, "id", "")
    )
