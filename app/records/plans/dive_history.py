"""Every dive of the last two days that counts for the next one: logged here, and told of elsewhere.

Somebody who is in the water counts as diving until the planned time back, and until now once that is past.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlmodel import Session, col, select

from app.planning.dive_day import LOOK_BACK_MIN, DoneDive
from app.records.groups.groups import GroupView
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.parties import SlotRow
from app.records.tables.water import OtherDiveRow
from app.records.water_side.water import dive_times

# Nobody is hurried down: a beginner goes down no faster than everybody comes up (common practice, no source).
DESCENT_M_MIN = 9.0
LOOK_BACK = timedelta(minutes=LOOK_BACK_MIN)
# Slots are found by their day; a dive may begin a day after its slot's date in another zone.
SLOT_DAYS = timedelta(days=4)
NO_DIVE, DIVED, TAKEN_BACK = "none", "dive", "taken back"
Who = tuple[int | None, int | None]
"""Somebody of the team or a guest: (person's number, guest's number), one of them None."""


@dataclass(frozen=True)
class PastDive:
    """One dive: in and back, how deep, and which one it was.

    where: "group A at 10:30", or "elsewhere". in_water: not back yet. told: the record of a dive elsewhere.
    """

    at: datetime
    back: datetime
    depth_m: float
    where: str
    group_id: int | None = None
    in_water: bool = False
    told: OtherDiveRow | None = None

    @property
    def minutes(self) -> float:
        """How long it was, in minutes."""
        return (self.back - self.at).total_seconds() / 60

    def as_record(self) -> list[Any]:
        """Return what a plan keeps of it."""
        return [self.at.isoformat(), self.back.isoformat(), self.depth_m]


def minute_of(instant: datetime) -> float:
    """Return an instant on the clock that planning counts dives on, in minutes."""
    return instant.timestamp() / 60


def minutes_of(dive: PastDive) -> DoneDive:
    """Return a dive as planning reads it."""
    return DoneDive(minute_of(dive.at), minute_of(dive.back), dive.depth_m)


def history(
    session: Session, people: Iterable[int], guests: Iterable[int], since: datetime, now: datetime
) -> dict[Who, list[PastDive]]:
    """Return the dives that ended after an instant, of people and guests, first dive first."""
    found: dict[Who, list[PastDive]] = {}
    people, guests = sorted(set(people)), sorted(set(guests))
    asked = (
        select(MemberRow, GroupRow, SlotRow)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .where(
            col(MemberRow.person_id).in_(people) | col(MemberRow.guest_id).in_(guests),
            col(SlotRow.day) >= (since - SLOT_DAYS).date(),
            col(GroupRow.entered_at).is_not(None),
        )
    )
    rows = list(session.exec(asked))
    times = dive_times(session, [member.id for member, _, _ in rows])
    for member, group, slot in rows:
        told = times.get(member.id or 0)
        if told is None:
            continue
        back = told.back or max(now, group.due_at or now)
        depth = group.depth_m if group.greatest_depth_m is None else group.greatest_depth_m
        where = f"group {group.name} at {slot.clock}"
        if back > told.went and back > since and depth > 0:
            dive = PastDive(told.went, back, depth, where, group.id, told.back is None)
            found.setdefault((member.person_id, member.guest_id), []).append(dive)
    for row in others_told(session, people, since):
        if row.went_at is not None and row.minutes and row.greatest_depth_m:
            back = row.went_at + timedelta(minutes=row.minutes)
            dive = PastDive(row.went_at, back, row.greatest_depth_m, "elsewhere", told=row)
            found.setdefault((row.person_id, None), []).append(dive)
    return {who: sorted(dives, key=lambda one: one.at) for who, dives in found.items()}


def others_told(session: Session, people: Iterable[int], since: datetime) -> list[OtherDiveRow]:
    """Return the dives elsewhere of people that ended after an instant, those taken back left out."""
    asked = select(OtherDiveRow).where(col(OtherDiveRow.person_id).in_(list(people)))
    rows = list(session.exec(asked.where(col(OtherDiveRow.at) > since).order_by(col(OtherDiveRow.id))))
    gone = {row.takes_back_id for row in rows if row.said == TAKEN_BACK}
    return [
        row
        for row in rows
        if row.said == DIVED
        and row.id not in gone
        and row.went_at is not None
        and row.went_at + timedelta(minutes=row.minutes or 0) > since
    ]


def said_today(session: Session, people: Iterable[int], day: date) -> dict[int, OtherDiveRow]:
    """Return the newest answer of a day about other dives, by person; nothing for who was not asked.

    A dive that was taken back is no answer.
    """
    asked = select(OtherDiveRow).where(col(OtherDiveRow.person_id).in_(list(people)), OtherDiveRow.day == day)
    rows = list(session.exec(asked.order_by(col(OtherDiveRow.id))))
    gone = {row.takes_back_id for row in rows if row.said == TAKEN_BACK}
    return {row.person_id: row for row in rows if row.said != TAKEN_BACK and row.id not in gone}


def dives_before(session: Session, view: GroupView, now: datetime) -> dict[str, list[PastDive]]:
    """Return the earlier dives that count for a group's dive, first dive first, by the member's number."""
    members = {str(one.row.id): (one.row.person_id, one.row.guest_id) for one in view.members}
    found = history(
        session,
        [person for person, _ in members.values() if person is not None],
        [guest for _, guest in members.values() if guest is not None],
        # Counted from the slot and not from now, so that a plan does not go out of date by waiting.
        view.slot.starts_at - LOOK_BACK,
        now,
    )
    return {
        key: [dive for dive in found.get(who, []) if dive.group_id != view.id] for key, who in members.items()
    }
