"""Slots, parties and guests as read: what a day holds and how many places are left."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, func, select

from app.records.store.problems import NotHere
from app.records.tables.house import SiteRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.rules.booking import SlotFacts
from app.rules.flying import Flight, Told

BOOKED = "booked"
TOLD: dict[str, Told] = {"unknown": "unknown", "none": "none", "at": "at", "from": "from"}


@dataclass(frozen=True)
class SlotView:
    """A slot with its site and how many of its places are taken."""

    slot: SlotRow
    site: SiteRow
    taken: int

    @property
    def left(self) -> int:
        """Places nobody has."""
        return max(0, self.slot.places - self.taken)

    @property
    def label(self) -> str:
        """The slot in words: "10:30 Long Jetty"."""
        return f"{self.slot.clock} {self.site.name}"


@dataclass(frozen=True)
class PartyView:
    """A party with its guests and its slot."""

    party: PartyRow
    guests: tuple[GuestRow, ...]
    slot: SlotView

    @property
    def booked(self) -> tuple[GuestRow, ...]:
        """The guests who are still coming."""
        return tuple(guest for guest in self.guests if guest.state == BOOKED)


def slots_of(session: Session, day: date) -> list[SlotView]:
    """Return the slots of a day in order of time, with the places taken by booked guests."""
    return slots_between(session, day, day)


def slots_between(session: Session, first: date, last: date) -> list[SlotView]:
    """Return the slots from one day to another, both included, in order of time."""
    taken = dict(
        session.exec(
            select(PartyRow.slot_id, func.count(col(GuestRow.id)))
            .join(GuestRow, col(GuestRow.party_id) == PartyRow.id)
            .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
            .where(col(SlotRow.day).between(first, last), PartyRow.state == BOOKED, GuestRow.state == BOOKED)
            .group_by(col(PartyRow.slot_id))
        ).all()
    )
    found = (
        select(SlotRow, SiteRow)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(col(SlotRow.day).between(first, last))
        .order_by(col(SlotRow.starts_at), SiteRow.name)
    )
    return [SlotView(slot, site, taken.get(slot.id or 0, 0)) for slot, site in session.exec(found)]


def slot_facts(view: SlotView, own: int = 0) -> SlotFacts:
    """Return a slot as the booking rule reads it. own: places that the asking party has there already."""
    return SlotFacts(
        label=view.label,
        day=view.slot.day,
        start=view.slot.starts_at,
        where="confined" if view.site.confined else "open",
        places=view.slot.places,
        taken=view.taken - own,
        open=view.slot.open,
    )


def slot_view(session: Session, slot_id: int) -> SlotView:
    """Return one slot; raises NotHere."""
    slot = session.get(SlotRow, slot_id)
    if slot is None:
        raise NotHere(f"slot {slot_id}")
    return next(view for view in slots_of(session, slot.day) if view.slot.id == slot_id)


def parties_of(session: Session, day: date) -> list[PartyView]:
    """Return every party of a day, by slot and then in the order of booking."""
    slots = {view.slot.id: view for view in slots_of(session, day)}
    parties = list(
        session.exec(
            select(PartyRow)
            .where(col(PartyRow.slot_id).in_([key for key in slots if key is not None]))
            .order_by(col(PartyRow.id))
        )
    )
    guests = guests_by_party(session, [party.id or 0 for party in parties])
    views = [
        PartyView(party, tuple(guests.get(party.id or 0, ())), slots[party.slot_id]) for party in parties
    ]
    return sorted(views, key=lambda view: (view.slot.slot.starts_at, view.party.id or 0))


def party_view(session: Session, party_id: int) -> PartyView:
    """Return one party; raises NotHere."""
    party = session.get(PartyRow, party_id)
    if party is None:
        raise NotHere(f"party {party_id}")
    guests = guests_by_party(session, [party_id]).get(party_id, [])
    return PartyView(party, tuple(guests), slot_view(session, party.slot_id))


def guests_by_party(session: Session, party_ids: Iterable[int]) -> dict[int, list[GuestRow]]:
    """Return the guests of several parties, in the order in which they were written down."""
    found: dict[int, list[GuestRow]] = {}
    asked = select(GuestRow).where(col(GuestRow.party_id).in_(list(party_ids))).order_by(col(GuestRow.id))
    for guest in session.exec(asked):
        found.setdefault(guest.party_id, []).append(guest)
    return found


def flight_of(row: GuestRow) -> Flight:
    """Return what a guest told of flying. A word that is none of ours counts as not asked."""
    told: Told = TOLD.get(row.flight_told, "")
    return Flight("at" if told in ("", "unknown") and row.flight_at else told, row.flight_at)


def guest(session: Session, guest_id: int) -> GuestRow:
    """Return one guest; raises NotHere."""
    row = session.get(GuestRow, guest_id)
    if row is None:
        raise NotHere(f"guest {guest_id}")
    return row


def guests_of_slot(session: Session, slot_id: int) -> list[GuestRow]:
    """Return the guests booked for a slot, party by party."""
    found = (
        select(GuestRow)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .where(PartyRow.slot_id == slot_id, PartyRow.state == BOOKED, GuestRow.state == BOOKED)
        .order_by(col(PartyRow.id), col(GuestRow.id))
    )
    return list(session.exec(found))
