"""Who is in the water: one record per person decides, the newest event of each member of a group."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, func, select

from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.parties import GuestRow
from app.records.tables.people import PersonRow
from app.records.tables.water import WaterEventRow


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
    newest = select(func.max(WaterEventRow.id)).group_by(col(WaterEventRow.member_id))
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
