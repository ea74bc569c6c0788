"""Search over a shop's records: by part of a name, phone number, number of a thing, group, place or day.

Accents, upper case and the order of words do not matter. Names are read from the folded entries that every
write keeps up (`search_entries`); what a shop has only hundreds of is folded while it is read.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import or_
from sqlmodel import Session, col, select

from app.records.keep.search_entries import GUEST, PARTY
from app.records.keep.search_groups import FoundGroup, find_groups
from app.records.keep.search_incidents import FoundIncident, Reader, find_incidents
from app.records.tables.cylinders import CylinderRow
from app.records.tables.house import SiteRow
from app.records.tables.kit import KitItemRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.tables.returning import SearchEntryRow
from app.rules.folding import digits_of, fold
from app.rules.said_day import said_day

MOST = 30
# The newest that match are put in order of their day.
CANDIDATES = 300
# Fewer digits than this would find half of all phones.
PHONE_DIGITS = 3


@dataclass(frozen=True)
class Scope:
    """What somebody may find, beside guests by name.

    things: cylinders, kit, groups, dives. guests: only these, None for everybody's. day: only that day's
    bookings. incidents: as whom incidents are read; None for somebody who reads none.
    """

    parties: bool = False
    phones: bool = False
    things: bool = True
    guests: frozenset[int] | None = None
    day: date | None = None
    incidents: Reader | None = None


@dataclass(frozen=True)
class FoundParty:
    """A party whose contact was found."""

    party_id: int
    contact: str
    phone: str
    state: str
    day: date
    slot: str


@dataclass(frozen=True)
class FoundGuest:
    """A guest who was found."""

    guest_id: int
    party_id: int
    name: str
    call_name: str
    state: str
    day: date
    slot: str
    birth_year: int = 0


@dataclass(frozen=True)
class Found:
    """What a search found, newest day first. day: the day that was asked for. more: not all is shown."""

    guests: tuple[FoundGuest, ...] = ()
    parties: tuple[FoundParty, ...] = ()
    cylinders: tuple[CylinderRow, ...] = ()
    kit: tuple[KitItemRow, ...] = ()
    groups: tuple[FoundGroup, ...] = ()
    dives: tuple[FoundGroup, ...] = ()
    incidents: tuple[FoundIncident, ...] = ()
    day: date | None = None
    more: bool = False

    @property
    def nothing(self) -> bool:
        """Whether nothing was found."""
        return not (
            self.guests
            or self.parties
            or self.cylinders
            or self.kit
            or self.groups
            or self.dives
            or self.incidents
        )


def search(session: Session, asked: str, scope: Scope, today: date) -> Found:
    """Return what the words find within a scope; every word must be found in the same name.

    A day among the words narrows down to that day; a day alone finds everything of it.
    """
    day, rest = said_day(asked, today)
    words = fold(rest).split()
    if not words and day is None:
        return Found()
    guests = find_guests(session, words, day, scope)
    parties = _parties(session, rest, words, day, scope) if scope.parties else []
    groups: list[FoundGroup] = []
    things: tuple[list[CylinderRow], list[KitItemRow]] = ([], [])
    if scope.things:
        groups = find_groups(session, words, day, MOST)
        if words and day is None:
            things = (_cylinders(session, words), _items(session, words))
    incidents = [] if scope.incidents is None else find_incidents(session, words, day, scope.incidents, MOST)
    planned = [one for one in groups if not one.dived]
    dives = [one for one in groups if one.dived]
    lists: tuple[Sequence[object], ...] = (guests, parties, planned, dives, *things, incidents)
    return Found(
        tuple(guests[:MOST]),
        tuple(parties[:MOST]),
        tuple(things[0][:MOST]),
        tuple(things[1][:MOST]),
        tuple(planned[:MOST]),
        tuple(dives[:MOST]),
        tuple(incidents[:MOST]),
        day,
        more=any(len(one) > MOST for one in lists) or len(groups) > MOST,
    )


def find_guests(
    session: Session,
    words: Sequence[str],
    day: date | None,
    scope: Scope,
    *,
    by_phone: str = "",
    born: date | None = None,
) -> list[FoundGuest]:
    """Return guests by the parts of their names, newest day first; one more than the most that are shown.

    words: folded. day: only of that day. by_phone: digits of their party's phone, in place of words.
    born: only who was born on that day.
    """
    mine: Any
    if by_phone:
        # Only who has an entry is found: an erased guest has none.
        kept = select(SearchEntryRow.record_id).where(SearchEntryRow.record == GUEST)
        party = _newest(PARTY, [col(SearchEntryRow.digits).contains(by_phone)])
        mine = col(GuestRow.party_id).in_(party) & col(GuestRow.id).in_(kept)
    else:
        within = select(GuestRow.id).where(GuestRow.birth_date == born) if born else _within(day, scope)
        mine = col(GuestRow.id).in_(_newest(GUEST, _has(words), within=within))
    asked = (
        select(GuestRow, PartyRow, SlotRow, SiteRow)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(mine)
        .order_by(col(SlotRow.starts_at).desc(), col(GuestRow.id))
        .limit(MOST + 1)
    )
    if scope.guests is not None:
        asked = asked.where(col(GuestRow.id).in_(scope.guests))
    for one in (day, scope.day):
        if one is not None:
            asked = asked.where(SlotRow.day == one)
    return [
        FoundGuest(
            guest.id or 0,
            guest.party_id,
            guest.full_name,
            guest.call_name,
            guest.state if party.state == "booked" else party.state,
            slot.day,
            f"{slot.clock} {site.name}",
            guest.birth_date.year,
        )
        for guest, party, slot, site in session.exec(asked)
    ]


def phone_asked(said: str) -> str:
    """Return the digits of what may be part of a phone number; "" for what is none."""
    digits = digits_of(said)
    return digits if len(digits) >= PHONE_DIGITS and not any(one.isalpha() for one in said) else ""


def _parties(
    session: Session, said: str, words: Sequence[str], day: date | None, scope: Scope
) -> list[FoundParty]:
    phone = phone_asked(said) if scope.phones else ""
    found: list[Any] = [] if not words else [_all(_has(words))]
    if phone:
        found.append(col(SearchEntryRow.digits).contains(phone))
    within = None
    if day is not None or scope.day is not None:
        within = select(PartyRow.id).join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        for one in (day, scope.day):
            within = within if one is None else within.where(SlotRow.day == one)
    entry = _newest(PARTY, [or_(*found)] if found else [], within=within)
    asked = (
        select(PartyRow, SlotRow, SiteRow)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(col(PartyRow.id).in_(entry))
        .order_by(col(SlotRow.starts_at).desc(), col(PartyRow.id))
        .limit(MOST + 1)
    )
    return [
        FoundParty(
            party.id or 0,
            party.contact_name,
            party.phone if scope.phones else "",
            party.state,
            slot.day,
            f"{slot.clock} {site.name}",
        )
        for party, slot, site in session.exec(asked)
    ]


def _newest(record: str, conditions: Iterable[Any], *, within: Any = None) -> Any:
    """The numbers of the newest records whose entries fit; of a few records alone, where it is said which."""
    asked = select(SearchEntryRow.record_id).where(SearchEntryRow.record == record, *conditions)
    if within is not None:
        asked = asked.where(col(SearchEntryRow.record_id).in_(within))
    return asked.order_by(col(SearchEntryRow.record_id).desc()).limit(CANDIDATES)


def _within(day: date | None, scope: Scope) -> Any:
    """The guests of a day, or whom the scope names; None for everybody."""
    if scope.guests is not None:
        return sorted(scope.guests)
    days = [one for one in (day, scope.day) if one is not None]
    if not days:
        return None
    found = (
        select(GuestRow.id)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
    )
    return found.where(*(SlotRow.day == one for one in days))


def _has(words: Sequence[str]) -> list[Any]:
    return [col(SearchEntryRow.words).contains(word, autoescape=True) for word in words]


def _all(conditions: Sequence[Any]) -> Any:
    first, *others = conditions
    for one in others:
        first = first & one
    return first


def _cylinders(session: Session, words: Sequence[str]) -> list[CylinderRow]:
    rows = session.exec(select(CylinderRow).order_by(CylinderRow.number))
    return [row for row in rows if _matches(words, f"cylinder {row.number}") and _is_number(words)]


def _items(session: Session, words: Sequence[str]) -> list[KitItemRow]:
    rows = session.exec(select(KitItemRow).order_by(KitItemRow.number))
    return [row for row in rows if _matches(words, f"{row.kind} {row.number}") and _is_number(words)]


def _is_number(words: Sequence[str]) -> bool:
    """Whether the words can mean a numbered thing: names of people have no digits."""
    return any(one.isdecimal() for word in words for one in word)


def _matches(words: Sequence[str], text: str) -> bool:
    folded = fold(text)
    return all(word in folded for word in words)
