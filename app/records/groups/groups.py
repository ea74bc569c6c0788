"""Groups as read: who goes with whom in each slot of a day, and how far each group has come."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.store.problems import NotHere
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import ConditionsRow, GuestRow, PartyRow, SlotRow
from app.records.tables.people import PersonRow
from app.records.water_side.water import newest_events
from app.records.welcome.bookings import BOOKED

GUIDE, ASSISTANT, GUEST = "guide", "assistant", "guest"
_ORDER = {GUIDE: 0, ASSISTANT: 1, GUEST: 2}
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True)
class MemberView:
    """One member of a group. event: the newest of the water events, "" while there is none."""

    row: MemberRow
    name: str
    guest: GuestRow | None
    person: PersonRow | None
    event: str

    @property
    def in_water(self) -> bool:
        """Whether the one record that decides says that this person is in the water."""
        return self.event == "in"


@dataclass(frozen=True)
class GroupView:
    """A group with its slot, its site, everybody who is in it now, and the two persons ashore."""

    group: GroupRow
    slot: SlotRow
    site: SiteRow
    members: tuple[MemberView, ...]
    surface_watch: PersonRow | None
    safety_diver: PersonRow | None

    @property
    def id(self) -> int:
        """The group's number in the store."""
        return self.group.id or 0

    @property
    def label(self) -> str:
        """The group in a sentence: "group A at 10:30"."""
        return f"group {self.group.name} at {self.slot.clock}"

    @property
    def guide(self) -> MemberView | None:
        """The instructor in charge."""
        return next((one for one in self.members if one.row.part == GUIDE), None)

    @property
    def assistant(self) -> MemberView | None:
        """Who helps the guide, if anybody."""
        return next((one for one in self.members if one.row.part == ASSISTANT), None)

    @property
    def guests(self) -> tuple[MemberView, ...]:
        """The guests, in the order in which they joined."""
        return tuple(one for one in self.members if one.row.part == GUEST)

    @property
    def anybody_in(self) -> bool:
        """Whether anybody of this group is in the water."""
        return any(one.in_water for one in self.members)

    @property
    def step(self) -> tuple[str, str]:
        """How far the group has come: the word and its shape."""
        if self.anybody_in:
            return "in the water", "square"
        if self.group.aborted_at is not None:
            return "called off", "triangle"
        if self.group.closed_at is not None:
            return "dive closed", "dot"
        if self.group.entered_at is not None:
            return "out, not closed", "triangle"
        return "getting ready", "ring"

    @property
    def may_change(self) -> bool:
        """Whether people may still be put together anew: nobody went in, nothing was called off."""
        group = self.group
        return group.entered_at is None and group.aborted_at is None and group.closed_at is None


def groups_of(session: Session, day: date) -> list[GroupView]:
    """Return the groups of a day in order of time and name. The count of queries does not grow.

    A group that was taken apart before it went in is in the records, not in this list.
    """
    found = (
        select(GroupRow, SlotRow, SiteRow)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(SlotRow.day == day)
        .order_by(col(SlotRow.starts_at), GroupRow.name, col(GroupRow.id))
    )
    views = _views(session, list(session.exec(found)))
    return [view for view in views if view.members or not view.may_change]


def group_view(session: Session, group_id: int) -> GroupView:
    """Return one group; raises NotHere."""
    found = (
        select(GroupRow, SlotRow, SiteRow)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(GroupRow.id == group_id)
    )
    views = _views(session, list(session.exec(found)))
    if not views:
        raise NotHere(f"group {group_id}")
    return views[0]


def members(session: Session, group_id: int) -> tuple[MemberView, ...]:
    """Return who is in a group now, the guide first; raises NotHere for no such group."""
    return group_view(session, group_id).members


def member(session: Session, member_id: int) -> MemberRow:
    """Return one member, in the group still or not; raises NotHere."""
    row = session.get(MemberRow, member_id)
    if row is None:
        raise NotHere(f"member {member_id}")
    return row


def leads(view: GroupView, person_id: int | None) -> bool:
    """Return whether a person is the guide of a group."""
    return person_id is not None and view.guide is not None and view.guide.row.person_id == person_id


def booked_guests(session: Session, day: date) -> dict[int, list[GuestRow]]:
    """Return the booked guests of each slot of a day, party by party, by slot number."""
    found = (
        select(PartyRow.slot_id, GuestRow)
        .join(GuestRow, col(GuestRow.party_id) == PartyRow.id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .where(SlotRow.day == day, PartyRow.state == BOOKED, GuestRow.state == BOOKED)
        .order_by(col(PartyRow.id), col(GuestRow.id))
    )
    slots: dict[int, list[GuestRow]] = {}
    for slot_id, guest in session.exec(found):
        slots.setdefault(slot_id, []).append(guest)
    return slots


def party_names(session: Session, guests: Iterable[GuestRow]) -> dict[int, str]:
    """Return the contact's name of each guest's party, by party number."""
    ids = {guest.party_id for guest in guests}
    asked = select(PartyRow.id, PartyRow.contact_name).where(col(PartyRow.id).in_(ids))
    return {party_id or 0: name for party_id, name in session.exec(asked)}


def team(session: Session) -> list[PersonRow]:
    """Return everybody who works here now, by name."""
    return list(session.exec(select(PersonRow).where(col(PersonRow.active)).order_by(PersonRow.name)))


def newest_conditions(session: Session, slot_ids: Iterable[int | None]) -> dict[int, ConditionsRow]:
    """Return the newest look at the water of each slot that has one, by slot number."""
    asked = select(ConditionsRow).where(col(ConditionsRow.slot_id).in_(list(slot_ids)))
    return {row.slot_id: row for row in session.exec(asked.order_by(col(ConditionsRow.id)))}


def free_name(taken: Iterable[str]) -> str:
    """Return the first letter that no group has yet: A, B, ... then A2, B2, ..."""
    used = {name.casefold() for name in taken}
    rounds = (letter + ("" if n == 1 else str(n)) for n in range(1, len(used) + 2) for letter in _LETTERS)
    return next(name for name in rounds if name.casefold() not in used)


def _views(session: Session, rows: list[tuple[GroupRow, SlotRow, SiteRow]]) -> list[GroupView]:
    ids = [group.id for group, _, _ in rows]
    asked = select(MemberRow).where(col(MemberRow.group_id).in_(ids), col(MemberRow.left_at).is_(None))
    found = list(session.exec(asked.order_by(col(MemberRow.id))))
    ashore = {one for group, _, _ in rows for one in (group.surface_watch_id, group.safety_diver_id) if one}
    people = _people(session, {one.person_id for one in found if one.person_id is not None} | ashore)
    guests = _guests(session, {one.guest_id for one in found if one.guest_id is not None})
    events = newest_events(session, [one for one in ids if one is not None])
    by_group: dict[int, list[MemberView]] = {}
    for row in found:
        guest, person = guests.get(row.guest_id), people.get(row.person_id)
        name = guest.call_name if guest else person.name if person else ""
        event = events.get(row.id or 0)
        view = MemberView(row, name, guest, person, event.event if event else "")
        by_group.setdefault(row.group_id, []).append(view)
    return [
        GroupView(
            group,
            slot,
            site,
            tuple(sorted(by_group.get(group.id or 0, []), key=lambda one: _ORDER.get(one.row.part, 3))),
            people.get(group.surface_watch_id),
            people.get(group.safety_diver_id),
        )
        for group, slot, site in rows
    ]


def _people(session: Session, ids: Iterable[int]) -> dict[int | None, PersonRow]:
    return {row.id: row for row in session.exec(select(PersonRow).where(col(PersonRow.id).in_(list(ids))))}


def _guests(session: Session, ids: Iterable[int]) -> dict[int | None, GuestRow]:
    return {row.id: row for row in session.exec(select(GuestRow).where(col(GuestRow.id).in_(list(ids))))}
