"""The seal of a closed day: a keyed hash over that day's records, tied to the day closed before it.

What is corrected later is an addition or an edit with an entry in the trail. The seal is checked against
the records as they were when the day was closed: edits since then are taken back by their entries, so
that a correction amends the day and leaves its seal whole, and a change without an entry breaks it.
"""

import hashlib
import hmac
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar, cast

from sqlalchemy import Table
from sqlalchemy import select as columns_of
from sqlmodel import Session, col, select

from app.records.store import trail
from app.records.store.sealing import MasterKey
from app.records.tables.base import Row
from app.records.tables.days import (
    DrillRow,
    EmergencyCheckRow,
    EmergencyOxygenRow,
    IncidentNoteRow,
    IncidentRow,
)
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow, PlanRow
from app.records.tables.health import TalkRow
from app.records.tables.house import TrailRow
from app.records.tables.incidents import IncidentFactRow, IncidentKeptRow, IncidentStepRow
from app.records.tables.keeping import DaySealRow
from app.records.tables.kit import KitLoanRow
from app.records.tables.parties import ConditionsRow, SlotRow
from app.records.tables.water import (
    BriefingRow,
    CountRow,
    MissingRow,
    OtherDiveRow,
    PressureRow,
    SkillRow,
    WaterEventRow,
)

# What a seal covers: a table, its column that leads to the day, and the table that column points to.
COVERED: tuple[tuple[type[Row], str, type[Row] | None], ...] = (
    (SlotRow, "day", None),
    (ConditionsRow, "slot_id", SlotRow),
    (GroupRow, "slot_id", SlotRow),
    (MemberRow, "group_id", GroupRow),
    (CylinderOutRow, "member_id", MemberRow),
    (KitLoanRow, "slot_id", SlotRow),
    (PlanRow, "group_id", GroupRow),
    (BriefingRow, "group_id", GroupRow),
    (SkillRow, "group_id", GroupRow),
    (PressureRow, "member_id", MemberRow),
    (WaterEventRow, "group_id", GroupRow),
    (CountRow, "group_id", GroupRow),
    (MissingRow, "group_id", GroupRow),
    (OtherDiveRow, "day", None),
    (TalkRow, "day", None),
    (EmergencyCheckRow, "day", None),
    (EmergencyOxygenRow, "check_id", EmergencyCheckRow),
    (DrillRow, "held_on", None),
    (IncidentRow, "day", None),
    (IncidentNoteRow, "incident_id", IncidentRow),
    (IncidentFactRow, "incident_id", IncidentRow),
    (IncidentStepRow, "incident_id", IncidentRow),
    (IncidentKeptRow, "incident_id", IncidentRow),
)
AT_ONCE = 500
Covers = dict[str, dict[str, list[Any]]]
Values = dict[str, dict[int, list[Any]]]
# A table and the number of a row in it; a change of one, with its entry and the old and new columns.
Place = tuple[str, int]
Change = tuple[Any, str, int, dict[str, list[Any]]]
# What is read of an entry: hundreds of thousands of them are gone through when a seal does not hold.
_ENTRY = (
    col(TrailRow.id), col(TrailRow.at), col(TrailRow.who), col(TrailRow.act), col(TrailRow.changes),
)  # fmt: skip
P = TypeVar("P", int, str)


@dataclass(frozen=True)
class Amendment:
    """One record of a closed day that was added or changed after its closing, and by which trail entry."""

    table: str
    record_id: int
    added: bool
    number: int
    at: datetime
    who: str
    act: str


def make_seal(session: Session, master: MasterKey, day: date, now: datetime) -> DaySealRow:
    """Return the seal of a day's records as they are now, for the act that closes the day to store.

    That act changes none of the covered records itself: its own entry counts as later. Columns that hold
    personal or secret values are left out, so that erasing a guest leaves the seal whole; the trail
    answers for those.
    """
    last = session.exec(select(DaySealRow).order_by(col(DaySealRow.id).desc()).limit(1)).first()
    row = DaySealRow(
        day=day,
        covers=json.dumps(_covers(session, day)),
        before=trail.FIRST if last is None else last.seal,
        seal="",
        trail_number=trail.head(session)[0],
        at=now,
    )
    row.seal = _mac(master, row, _values(session, json.loads(row.covers)))
    return row


def seal_of(session: Session, day: date) -> DaySealRow | None:
    """Return the seal of a day; None for a day that is open or was closed before days were sealed."""
    return session.exec(select(DaySealRow).where(DaySealRow.day == day)).first()


def amendments(session: Session, master: MasterKey, row: DaySealRow) -> list[Amendment]:
    """Return what was added to a closed day or changed in it since, oldest first."""
    covers: Covers = json.loads(row.covers)
    now = _covers(session, row.day)
    new = {(name, one) for name, held in now.items() for one in held["ids"]} - _rows(covers)
    if not new and _holds(master, row, _values(session, covers)):
        return []
    later, whole = _told(session, master, row, new), _rows(covers) | new
    return [
        Amendment(name, number, (name, number) in new, entry.id or 0, entry.at, entry.who, entry.act)
        for entry, name, number, _ in later
        if (name, number) in whole
    ]


def wrong_seal(session: Session, master: MasterKey, row: DaySealRow) -> str | None:
    """Return a plain sentence about the first thing in a closed day that is not as it was sealed."""
    covers: Covers = json.loads(row.covers)
    values = _values(session, covers)
    for name, held in covers.items():
        gone = [one for one in held["ids"] if one not in values[name]]
        if gone:
            return f"Closed day {row.day}: record {gone[0]} of {name} is gone."
    if _holds(master, row, values) or _taken_back(master, row, values, _near(session, row, _rows(covers))):
        return None
    if _taken_back(master, row, values, _later(session, row.trail_number, _rows(covers))):
        return None
    return f"Closed day {row.day}: its records are not the ones that were sealed."


def first_wrong_seal(session: Session, master: MasterKey) -> str | None:
    """Return a plain sentence about the first closed day whose seal does not hold; None when all do."""
    before = trail.FIRST
    for row in session.exec(select(DaySealRow).order_by(col(DaySealRow.id))):
        if row.before != before:
            return f"Closed day {row.day}: the seal of the day closed before it is gone or another one."
        if (wrong := wrong_seal(session, master, row)) is not None:
            return wrong
        before = row.seal
    return None


def _covers(session: Session, day: date) -> Covers:
    """Return which columns and rows a day has now."""
    ids: dict[type[Row], Any] = {}
    found: Covers = {}
    for kind, column, parent in COVERED:
        table = _table(kind)
        wanted = table.c[column] == day if parent is None else table.c[column].in_(ids[parent])
        ids[kind] = select(table.c.id).where(wanted)
        plain_columns = [
            one.name for one in table.columns if one.name not in kind.secret | kind.personal | {"version"}
        ]
        rows = session.execute(ids[kind].order_by(table.c.id)).scalars()
        found[str(table.name)] = {"columns": plain_columns, "ids": list(rows)}
    return found


def _values(session: Session, covers: Covers) -> Values:
    """Return the covered columns of the covered rows as they are now, by table and number."""
    tables = {str(_table(kind).name): _table(kind) for kind, _, _ in COVERED}
    values: Values = {}
    for name, held in covers.items():
        table, values[name] = tables[name], {}
        columns = [table.c[column] for column in held["columns"]]
        for part in _parts(held["ids"]):
            for row in session.execute(select(table.c.id, *columns).where(table.c.id.in_(part))):
                values[name][row[0]] = [trail.plain(value) for value in row[1:]]
    return values


def _holds(master: MasterKey, row: DaySealRow, values: Values) -> bool:
    return hmac.compare_digest(_mac(master, row, values), row.seal)


def _taken_back(master: MasterKey, row: DaySealRow, values: Values, later: Iterable[Change]) -> bool:
    """Return whether the seal holds once these later changes are taken back, the newest first."""
    covers: Covers = json.loads(row.covers)
    before = {name: {number: [*told] for number, told in held.items()} for name, held in values.items()}
    for _entry, name, number, columns in reversed(list(later)):
        for place, column in enumerate(covers[name]["columns"]):
            if column in columns and number in before[name]:
                before[name][number][place] = columns[column][0]
    return _holds(master, row, before)


def _unbroken(covers: Covers, values: Values, edits: list[Change]) -> bool:
    """Return whether edits, oldest first, lead to the values of now with no edit missing between."""
    now = {(name, number): dict(zip(covers[name]["columns"], told, strict=True))
           for name, held in values.items() for number, told in held.items()}  # fmt: skip
    for _entry, name, number, columns in reversed(edits):
        stands = now.get((name, number), {})
        for column in stands.keys() & columns.keys():
            old, new = columns[column]
            if stands[column] != new:
                return False
            stands[column] = old
    return True


def _told(session: Session, master: MasterKey, row: DaySealRow, new: set[Place]) -> list[Change]:
    """Return every later change of a day's records and of those new in it, oldest first.

    The entries about the day's own records are enough when they make all that is new and take the others
    back to what was sealed; otherwise the whole trail since is read.
    """
    covers: Covers = json.loads(row.covers)
    old = _rows(covers)
    near = list(_near(session, row, old | new))
    edits = [one for one in near if one[1:3] in old]
    made = {(name, number) for _, name, number, _ in near}
    values = _values(session, covers)
    if new <= made and _unbroken(covers, values, edits) and _taken_back(master, row, values, edits):
        return near
    return list(_later(session, row.trail_number, old | new))


def _mac(master: MasterKey, row: DaySealRow, values: Values) -> str:
    covers: Covers = json.loads(row.covers)
    said = [
        row.day.isoformat(), row.before, row.trail_number,
        [[name, held["columns"], [values[name].get(one) for one in held["ids"]]]
         for name, held in covers.items()],
    ]  # fmt: skip
    text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    return hmac.new(master.named("day-seal"), text.encode(), hashlib.sha256).hexdigest()


def _later(session: Session, after: int, wanted: set[Place]) -> Iterator[Change]:
    """Yield entry, table, number and columns of every later change of the wanted rows, oldest first."""
    entries = columns_of(*_ENTRY).where(col(TrailRow.id) > after).order_by(col(TrailRow.id))
    return _changes(session.execute(entries.execution_options(yield_per=AT_ONCE)), wanted)


def _near(session: Session, row: DaySealRow, wanted: set[Place]) -> Iterator[Change]:
    """Yield the same of the entries that are about one of these rows, or about a guest of the day."""
    about: dict[str, list[str]] = {}
    for name, number in wanted:
        about.setdefault(name, []).append(str(number))
    members = [int(number) for number in about.get("member", ())]
    about["guest"] = [
        str(guest)
        for part in _parts(members)
        for guest in session.exec(select(MemberRow.guest_id).where(col(MemberRow.id).in_(part)))
        if guest is not None
    ]
    found: dict[int, Any] = {}
    for name, numbers in about.items():
        for some in _parts(numbers):
            asked = columns_of(*_ENTRY).where(col(TrailRow.record) == name, col(TrailRow.record_id).in_(some))
            for entry in session.execute(asked.where(col(TrailRow.id) > row.trail_number)):
                found[entry.id] = entry
    return _changes((found[number] for number in sorted(found)), wanted)


def _changes(entries: Iterable[Any], wanted: set[Place]) -> Iterator[Change]:
    for entry in entries:
        for name, said, columns in json.loads(entry.changes):
            if said.isdecimal() and (name, int(said)) in wanted:
                yield entry, name, int(said), columns


def _rows(covers: Covers) -> set[Place]:
    return {(name, one) for name, held in covers.items() for one in held["ids"]}


def _parts(ids: Sequence[P]) -> Iterator[Sequence[P]]:
    for start in range(0, len(ids), AT_ONCE):
        yield ids[start : start + AT_ONCE]


def _table(kind: type[Row]) -> Table:
    return cast("Table", cast("Any", kind).__table__)
