"""Each record beside what the trail says of it: found is what was changed, added or removed without an entry.

The trail is read from its newest entry back: the first time that a column of a row is met, its value must
be the one that stands in the row now. What no entry ever mentioned must be empty or the column's default.
Personal values are opened with their owner's key; an erased owner's are taken as they are, since nobody
can open them any more. Values that never reach the trail are looked for by presence alone.
"""

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, cast

from sqlalchemy import Table
from sqlmodel import Session, col, select

from app.records.store import trail
from app.records.store.sealing import KeyRing, Sealed
from app.records.tables.base import Row
from app.records.tables.house import TrailRow

ENTRIES_AT_ONCE, ROWS_AT_ONCE = 1000, 500
# Not in the trail by design: the number of a row is its name there, the version counts its edits.
LEFT_OUT = frozenset({"id", "version"})
Difference = tuple[int, str]


class _Kind:
    """One table: its columns in order, and which columns of which rows an entry was met for."""

    def __init__(self, row: type[Row]) -> None:
        self.table = cast("Table", cast("Any", row).__table__)
        self.name, self.secret = str(self.table.name), row.secret
        (self.key,) = self.table.primary_key.columns
        self.columns = [one for one in self.table.columns if one.name not in LEFT_OUT]
        self.place = {one.name: place for place, one in enumerate(self.columns)}
        self.met: dict[Any, int] = {}
        self._whole = (1 << len(self.columns)) - 1
        self._unmet: dict[int, list[tuple[int, tuple[Any, ...]]]] = {}
        self._masks: dict[int, int] = {}

    def number(self, said: str) -> Any:
        """Return a row's key as the table has it."""
        return int(said) if self.key.type.python_type is int else said

    def meet(self, key: Any, mask: int) -> None:
        """Note which columns of a row were met so far."""
        self.met[key] = self._masks.setdefault(mask, mask)

    def unmet(self, mask: int) -> list[tuple[int, tuple[Any, ...]]]:
        """Return the places of columns that no entry mentioned, each with the values it may hold."""
        if mask not in self._unmet:
            self._unmet[mask] = [
                (place, (None, "", getattr(column.default, "arg", None)))
                for place, column in enumerate(self.columns)
                if not mask >> place & 1
            ]
        return self._unmet[mask]


class _Unreadable(Exception):
    """A value in a row is not of its column's kind; carries a plain sentence that names the row."""


# What the store's readers raise when a day is no day and a number no number.
NO_SUCH_VALUE = (TypeError, ValueError, ArithmeticError)


def first_difference(session: Session, ring: KeyRing) -> str | None:
    """Return a plain sentence about the first record that is not as its entries say; None when all are."""
    try:
        return _first_difference(session, ring)
    except _Unreadable as found:
        return str(found)


def _first_difference(session: Session, ring: KeyRing) -> str | None:
    kinds = {kind.name: kind for kind in (_Kind(row) for row in _in_trail())}
    found = list(_against_entries(session, ring, kinds))
    if found:
        return min(found)[1]
    for kind in kinds.values():
        if (wrong := _never_mentioned(session, kind)) is not None:
            return wrong
    return None


def _in_trail() -> list[type[Row]]:
    rows, found = [Row], []
    while rows:
        for row in rows.pop().__subclasses__():
            rows.append(row)
            if row.in_trail and hasattr(row, "__table__"):
                found.append(row)
    return sorted(found, key=lambda row: str(row.__tablename__))


def _against_entries(session: Session, ring: KeyRing, kinds: dict[str, _Kind]) -> Iterator[Difference]:
    """Go from the newest entry back and yield every value that is not the one its newest entry says."""
    owners = ring.owners()
    asked = select(col(TrailRow.id), col(TrailRow.changes)).order_by(col(TrailRow.id).desc())
    for entries in session.execute(asked.execution_options(yield_per=ENTRIES_AT_ONCE)).partitions():
        changes = [
            (number, kinds[name], kinds[name].number(said), columns)
            for number, text in entries
            for name, said, columns in reversed(json.loads(text))
            if name in kinds
        ]
        rows = _rows_of(session, changes)
        for number, kind, key, columns in changes:
            row = rows[kind.name].get(key)
            if row is None:
                yield number, f"Record {key} of {kind.name} is gone; trail entry {number} knows it."
                continue
            mask = kind.met.get(key, 0)
            for name, (_, said) in columns.items():
                place = kind.place.get(name)
                if place is None or mask >> place & 1:
                    continue
                mask |= 1 << place
                if not _agrees(row[place], said, name, name in kind.secret, ring, owners):
                    yield (
                        number,
                        f"Record {key} of {kind.name}: {name} is not what trail entry {number} says.",
                    )
            kind.meet(key, mask)


def _rows_of(session: Session, changes: list[tuple[int, _Kind, Any, Any]]) -> dict[str, dict[Any, Any]]:
    """Return the rows that changes are about, as they are now, by table and key."""
    wanted: dict[str, tuple[_Kind, set[Any]]] = {}
    for _, kind, key, _ in changes:
        wanted.setdefault(kind.name, (kind, set()))[1].add(key)
    found: dict[str, dict[Any, Any]] = {}
    for name, (kind, keys) in wanted.items():
        found[name] = {}
        for part in _parts(sorted(keys)):
            asked = select(kind.key, *kind.columns).where(kind.key.in_(part))
            try:
                found[name].update({row[0]: row[1:] for row in session.execute(asked)})
            except NO_SUCH_VALUE as error:
                raise _unreadable(session, kind, part) from error
    return found


def _unreadable(session: Session, kind: _Kind, keys: Iterable[Any]) -> _Unreadable:
    """Return which of these rows cannot be read, found one by one."""
    for key in keys:
        try:
            session.execute(select(kind.key, *kind.columns).where(kind.key == key)).all()
        except NO_SUCH_VALUE:
            return _Unreadable(f"Record {key} of {kind.name} cannot be read: a value is not of its kind.")
    return _Unreadable(f"A record of {kind.name} cannot be read: a value is not of its kind.")


def _agrees(now: Any, said: Any, name: str, secret: bool, ring: KeyRing, owners: Iterable[str]) -> bool:
    if said == trail.HIDDEN:
        # Of a secret column the trail knows that there was something; of an erased guest nothing at all.
        return not secret or now is not None
    if isinstance(said, dict):
        if said["of"] not in owners:
            return True
        try:
            said = json.loads(ring.open(said["of"], f"trail:{name}", said["sealed"]))
        except Sealed:
            return False
    return bool(trail.plain(now) == said)


def _never_mentioned(session: Session, kind: _Kind) -> str | None:
    """Return a sentence about a row without an entry, or a value that no entry mentions."""
    asked = select(kind.key, *kind.columns).order_by(kind.key)
    try:
        rows = session.execute(asked.execution_options(yield_per=ENTRIES_AT_ONCE))
        return next(filter(None, (_unsaid(row, kind) for row in rows)), None)
    except NO_SUCH_VALUE as error:
        raise _unreadable(session, kind, session.execute(select(kind.key)).scalars().all()) from error


def _unsaid(row: Any, kind: _Kind) -> str | None:
    mask = kind.met.get(row[0])
    if mask is None:
        return f"Record {row[0]} of {kind.name} was added without an entry in the trail."
    for place, may_be in kind.unmet(mask):
        if row[place + 1] not in may_be:
            name = kind.columns[place].name
            return f"Record {row[0]} of {kind.name}: no entry in the trail says its {name}."
    return None


def _parts(keys: Sequence[Any]) -> Iterator[Sequence[Any]]:
    for start in range(0, len(keys), ROWS_AT_ONCE):
        yield keys[start : start + ROWS_AT_ONCE]
