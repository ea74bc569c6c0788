"""Where guests are: in which groups, and what the water knows of them there."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.parties import SlotRow
from app.records.water_side.water import newest_events


@dataclass(frozen=True)
class Place:
    """A guest's place in a group, now or earlier. event: the newest water event there, "" for none."""

    member: MemberRow
    group: GroupRow
    event: str

    @property
    def current(self) -> bool:
        """Whether the guest is in the group's list now."""
        return self.member.left_at is None

    @property
    def group_is_out(self) -> bool:
        """Whether the group went in: then everybody in its list is answered for by name."""
        return self.current and self.group.entered_at is not None


def places_of(session: Session, guest_ids: Iterable[int | None]) -> dict[int, list[Place]]:
    """Return every place of several guests, oldest first, by guest number."""
    found = (
        select(MemberRow, GroupRow)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .where(col(MemberRow.guest_id).in_([one for one in guest_ids if one is not None]))
        .order_by(col(MemberRow.id))
    )
    rows = list(session.exec(found))
    events = newest_events(session, {group.id or 0 for _, group in rows})
    places: dict[int, list[Place]] = {}
    for member, group in rows:
        event = events.get(member.id or 0)
        places.setdefault(member.guest_id or 0, []).append(Place(member, group, event.event if event else ""))
    return places


def own_guests(session: Session, person_id: int | None, day: date) -> frozenset[int]:
    """Return the guests of the groups that a person guides or assists on a day."""
    if person_id is None:
        return frozenset()
    mine = (
        select(MemberRow.group_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .where(MemberRow.person_id == person_id, col(MemberRow.left_at).is_(None), SlotRow.day == day)
    )
    theirs = select(MemberRow.guest_id).where(
        col(MemberRow.group_id).in_(mine),
        col(MemberRow.guest_id).is_not(None),
        col(MemberRow.left_at).is_(None),
    )
    return frozenset(one for one in session.exec(theirs) if one is not None)
