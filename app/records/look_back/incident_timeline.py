"""What happened when around an incident: built from the records, in order of time, with who wrote it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.records.groups.groups import GroupView
from app.records.look_back.incident_file import IncidentFile
from app.records.tables.groups import MemberRow
from app.records.tables.water import CountRow, MissingRow, PressureRow, WaterEventRow
from app.records.water_side.water import member_names
from app.rules.incident_file import CALLED, OXYGEN_ON, STEPS, WHOM

EVENTS = {"in": "went in", "back": "is back", "never-entered": "stayed ashore"}
MOMENTS = {"start": "start pressure", "during": "pressure on the way", "end": "end pressure"}


@dataclass(frozen=True)
class Moment:
    """One line of the timeline. name: whom it is about; read: the gauge, for a pressure.

    later: when it was written down, if that was not when it happened; flag: why a person should look.
    """

    at: datetime
    what: str
    by: str
    name: str = ""
    read: PressureRow | None = None
    flow_l_min: float | None = None
    later: datetime | None = None
    flag: str = ""


def timeline(session: Session, file: IncidentFile) -> list[Moment]:
    """Return everything the records know around an incident, in order of time, then of arrival."""
    row = file.view.row
    found = [Moment(row.happened_at, row.what, row.written_by, later=_later(row.happened_at, row.written_at))]
    if file.group is not None:
        found += _group(session, file.group)
    found += _steps(file)
    for note in file.view.notes:
        found.append(Moment(note.at, note.note, note.by))
    for one in file.tasks:
        found.append(Moment(one.row.set_at, f"Follow-up for {one.owner}: {one.row.what}", one.row.set_by))
        if one.row.done_at is not None:
            said = f"Follow-up done: {one.row.done_how or one.row.what}"
            found.append(Moment(one.row.done_at, said, one.row.done_by))
    if row.read_at is not None:
        found.append(Moment(row.read_at, "Read", row.read_by))
    if row.closed_at is not None:
        found.append(Moment(row.closed_at, "Incident closed", row.closed_by))
    return sorted(found, key=lambda one: one.at)


def _steps(file: IncidentFile) -> Iterator[Moment]:
    for step in file.steps:
        said = STEPS.get(step.kind, step.kind)
        if step.kind == CALLED:
            said = f"Called: {WHOM.get(step.whom, step.whom)}"
        what = f"{said}: {step.what}" if step.what and step.kind != "done" else step.what or said
        flow = step.flow_l_min if step.kind == OXYGEN_ON else None
        yield Moment(
            step.happened_at, what, step.by, flow_l_min=flow, later=_later(step.happened_at, step.at)
        )


def _group(session: Session, view: GroupView) -> Iterator[Moment]:
    group = view.group
    members = list(session.exec(select(MemberRow).where(MemberRow.group_id == group.id)))
    names = member_names(session, members)
    for event in session.exec(
        select(WaterEventRow).where(WaterEventRow.group_id == group.id).order_by(col(WaterEventRow.id))
    ):
        yield Moment(
            event.happened_at,
            EVENTS.get(event.event, event.event),
            event.by,
            names.get(event.member_id, ""),
            later=_later(event.happened_at, event.at),
            flag=event.flag,
        )
    read = select(PressureRow).where(col(PressureRow.member_id).in_(list(names)))
    for one in session.exec(read.order_by(col(PressureRow.id))):
        what = MOMENTS.get(one.moment, one.moment)
        what += f", put right: {one.correction}" if one.correction else ""
        yield Moment(one.at, what, one.by, names.get(one.member_id, ""), one)
    for count in session.exec(
        select(CountRow).where(CountRow.group_id == group.id).order_by(col(CountRow.id))
    ):
        how = "heads" if count.method == "heads" else "called by name"
        agrees = "" if count.agrees else f"; the records say {count.expected}"
        yield Moment(count.at, f"Count {count.way}: {count.counted} {how}{agrees}", count.counter)
    yield from _missing(session, view, names)
    if group.aborted_at is not None:
        yield Moment(group.aborted_at, f"Dive called off: {group.aborted_why}", group.aborted_by)
    if group.closed_at is not None:
        yield Moment(group.closed_at, "Dive closed", group.closed_by)


def _missing(session: Session, view: GroupView, names: dict[int, str]) -> Iterator[Moment]:
    for one in session.exec(
        select(MissingRow).where(MissingRow.group_id == view.group.id).order_by(col(MissingRow.id))
    ):
        about = names.get(one.member_id or 0, "")
        seen = f", last seen: {one.last_seen}" if one.last_seen else ""
        yield Moment(one.started_at, f"Missing-person procedure started{seen}", one.started_by, about)
        if one.ended_at is not None:
            yield Moment(one.ended_at, f"Found: {one.found_where}", one.ended_by, about)


def _later(happened: datetime, written: datetime) -> datetime | None:
    """Return when it was written down where that is another minute."""
    return written if abs((written - happened).total_seconds()) >= 60 else None  # noqa: PLR2004 - a minute
