"""Who is in the water: one record per person decides, the newest event of each member of a group."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from weakref import WeakKeyDictionary

from sqlalchemy import Engine
from sqlmodel import Session, col, func, or_, select
from sqlmodel.sql.expression import SelectOfScalar

from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.parties import GuestRow
from app.records.tables.people import PersonRow
from app.records.tables.water import WaterEventRow

# The newest events are read again each time; what lies further back can no longer be rolled back or change.
ALWAYS_READ = 2000


@dataclass(frozen=True)
class _Settled:
    """Which members had "in" as their newest event when the event of this number was the last one."""

    upto: int
    inside: frozenset[int]


# Of each open store. Water events are only ever added, so what was so up to one of them stays so.
_settled: WeakKeyDictionary[Engine, _Settled] = WeakKeyDictionary()


@dataclass(frozen=True)
class InWater:
    """One person who is in the water."""

    member_id: int
    group_id: int
    group_name: str
    part: str
    name: str
    since: datetime
    due_at: datetime | None

    def late_minutes(self, now: datetime) -> int:
        """Whole minutes past the planned time back; 0 while not late or when no plan said when."""
        if self.due_at is None or now <= self.due_at:
            return 0
        return int((now - self.due_at).total_seconds() // 60)


@dataclass(frozen=True)
class WaterStrip:
    """The line on every staff page while people are in the water."""

    count: int
    late: int
    href: str = "/today/water"


def newest_events(session: Session, group_ids: Iterable[int] | None = None) -> dict[int, WaterEventRow]:
    """Return the newest water event of each member, by member number."""
    newest = select(func.max(WaterEventRow.id)).group_by(col(WaterEventRow.member_id))
    if group_ids is not None:
        newest = newest.where(col(WaterEventRow.group_id).in_(list(group_ids)))
    found = select(WaterEventRow).where(col(WaterEventRow.id).in_(newest))
    return {event.member_id: event for event in session.exec(found)}


def in_the_water(session: Session) -> list[InWater]:
    """Return everybody whose newest event is "in", on whatever day it was, the longest in first."""
    last = session.exec(select(func.max(WaterEventRow.id))).one() or 0
    newest = _newest_ids(_settled_by(session, last), last)
    found = (
        select(WaterEventRow, GroupRow, MemberRow)
        .join(GroupRow, col(GroupRow.id) == WaterEventRow.group_id)
        .join(MemberRow, col(MemberRow.id) == WaterEventRow.member_id)
        .where(col(WaterEventRow.id).in_(newest), WaterEventRow.event == "in")
        .order_by(col(WaterEventRow.happened_at), col(WaterEventRow.member_id))
    )
    rows = list(session.exec(found))
    names = member_names(session, [member for _, _, member in rows])
    return [
        InWater(
            event.member_id,
            event.group_id,
            group.name,
            member.part,
            names.get(event.member_id, ""),
            event.happened_at,
            group.due_at,
        )
        for event, group, member in rows
    ]


def _settled_by(session: Session, last: int) -> _Settled:
    """Return what is settled of the events up to a last one, read on from where it was settled before."""
    engine = session.get_bind().engine
    known = _settled.get(engine, _Settled(0, frozenset()))
    if known.upto > last:
        known = _Settled(0, frozenset())
    if last - known.upto > 2 * ALWAYS_READ:
        upto = last - ALWAYS_READ
        asked = select(WaterEventRow.member_id).where(
            col(WaterEventRow.id).in_(_newest_ids(known, upto)), WaterEventRow.event == "in"
        )
        known = _settled[engine] = _Settled(upto, frozenset(session.exec(asked)))
    return known


def _newest_ids(known: _Settled, upto: int) -> SelectOfScalar[int | None]:
    """Ask for the newest event up to one of them, of each member who can be in the water."""
    number, member = col(WaterEventRow.id), col(WaterEventRow.member_id)
    asked = select(func.max(WaterEventRow.id)).where(number <= upto)
    return asked.where(or_(number > known.upto, member.in_(known.inside))).group_by(member)


@dataclass(frozen=True)
class DiveTimes:
    """When one member went in, and was first marked as back after that; None while in the water."""

    went: datetime
    back: datetime | None


def dive_times(session: Session, member_ids: Iterable[int | None]) -> dict[int, DiveTimes]:
    """Return the times of each member who went in, as last told, by member number."""
    asked = select(WaterEventRow).where(col(WaterEventRow.member_id).in_(list(member_ids)))
    rows = session.exec(asked.order_by(col(WaterEventRow.id)))
    return times_told((row.member_id, row.event, row.happened_at) for row in rows)


def times_told(events: Iterable[tuple[int, str, datetime]]) -> dict[int, DiveTimes]:
    """Return the times that events (member, event, when) tell, in order of arrival, by member number."""
    times: dict[int, DiveTimes] = {}
    for member, event, at in events:
        told = times.get(member)
        if event == "in":
            times[member] = DiveTimes(at, None)
        elif event == "back" and told is not None and told.back is None:
            times[member] = DiveTimes(told.went, at)
    return times


def member_names(session: Session, members: Iterable[MemberRow]) -> dict[int, str]:
    """Return what to call each member: the guest's call name or the name of the person of the team."""
    rows = list(members)
    guest_ids = [member.guest_id for member in rows if member.guest_id is not None]
    staff_ids = [member.person_id for member in rows if member.person_id is not None]
    guests: dict[int | None, str] = {}
    staff: dict[int | None, str] = {}
    if guest_ids:
        asked = select(GuestRow.id, GuestRow.call_name).where(col(GuestRow.id).in_(guest_ids))
        guests = dict(session.exec(asked).all())
    if staff_ids:
        staff = dict(
            session.exec(select(PersonRow.id, PersonRow.name).where(col(PersonRow.id).in_(staff_ids))).all()
        )
    return {
        member.id or 0: guests.get(member.guest_id) or staff.get(member.person_id) or "" for member in rows
    }


def water_strip(session: Session, now: datetime) -> WaterStrip | None:
    """Return how many are in the water and how many of them are late; None when nobody is."""
    people = in_the_water(session)
    if not people:
        return None
    return WaterStrip(len(people), sum(1 for person in people if person.late_minutes(now) > 0))
