"""Search over a shop's records: by part of a name, phone number, cylinder number, kit number or group.

Accents and upper case do not matter: "jose" finds José, "oyvind" finds Øyvind. The letters are compared
here and not in the store, because no two stores fold them alike.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import GroupRow
from app.records.tables.house import SiteRow
from app.records.tables.kit import KitItemRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow

MOST = 30
# Fewer digits than this would find half of all phones.
PHONE_DIGITS = 3
# Letters with a stroke or joined letters, which have no accent to take off.
_LETTERS = str.maketrans(
    {"ø": "o", "œ": "oe", "æ": "ae", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ħ": "h", "ı": "i"}
)


@dataclass(frozen=True)
class Scope:
    """What somebody may find, beside guests by name.

    things: cylinders, kit, groups. guests: only these, None for everybody's. day: only that day's bookings.
    """

    parties: bool = False
    phones: bool = False
    things: bool = True
    guests: frozenset[int] | None = None
    day: date | None = None


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


@dataclass(frozen=True)
class FoundGroup:
    """A group that was found, with its day."""

    group_id: int
    name: str
    day: date
    slot: str


@dataclass(frozen=True)
class Found:
    """What a search found, newest day first. more: there is more than is shown."""

    guests: tuple[FoundGuest, ...] = ()
    parties: tuple[FoundParty, ...] = ()
    cylinders: tuple[CylinderRow, ...] = ()
    kit: tuple[KitItemRow, ...] = ()
    groups: tuple[FoundGroup, ...] = ()
    more: bool = False

    @property
    def nothing(self) -> bool:
        """Whether nothing was found."""
        return not (self.guests or self.parties or self.cylinders or self.kit or self.groups)


def fold(text: str) -> str:
    """Return a text without accents and case, spaces folded, for comparing."""
    if text.isascii():
        # Nothing to take off: most names, and a search reads every name of the shop.
        return " ".join(text.lower().split())
    bare = unicodedata.normalize("NFKD", text.casefold()).translate(_LETTERS)
    return " ".join("".join(one for one in bare if not unicodedata.combining(one)).split())


def search(session: Session, asked: str, scope: Scope) -> Found:
    """Return what the words find within a scope; every word must be found in the same name."""
    words = fold(asked).split()
    if not words:
        return Found()
    guests = _guests(session, words, scope)
    parties = _parties(session, asked, words, scope) if scope.parties else []
    groups, cylinders, kit = [], [], []
    if scope.things:
        groups = _groups(session, words)
        cylinders = _numbered(
            session.exec(select(CylinderRow).order_by(CylinderRow.number)), words, "cylinder"
        )
        kit = _items(session, words)
    lists: tuple[list[object], ...] = (list(guests), list(parties), list(groups), list(cylinders), list(kit))
    return Found(
        tuple(guests[:MOST]),
        tuple(parties[:MOST]),
        tuple(cylinders[:MOST]),
        tuple(kit[:MOST]),
        tuple(groups[:MOST]),
        more=any(len(one) > MOST for one in lists),
    )


def _guests(session: Session, words: list[str], scope: Scope) -> list[FoundGuest]:
    # Columns, not rows: a shop has tens of thousands of guests after a few years.
    asked = (
        select(GuestRow.id, GuestRow.full_name, GuestRow.call_name)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .order_by(col(SlotRow.starts_at).desc(), col(GuestRow.id))
    )
    if scope.guests is not None:
        asked = asked.where(col(GuestRow.id).in_(scope.guests))
    if scope.day is not None:
        asked = asked.where(SlotRow.day == scope.day)
    ids = _first(
        (number for number, full, call in session.exec(asked) if _matches(words, f"{full} {call}")), MOST + 1
    )
    found = (
        select(GuestRow, PartyRow, SlotRow, SiteRow)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(col(GuestRow.id).in_(ids))
        .order_by(col(SlotRow.starts_at).desc(), col(GuestRow.id))
    )
    return [
        FoundGuest(
            guest.id or 0,
            guest.party_id,
            guest.full_name,
            guest.call_name,
            guest.state if party.state == "booked" else party.state,
            slot.day,
            f"{slot.clock} {site.name}",
        )
        for guest, party, slot, site in session.exec(found)
    ]


def _parties(session: Session, said: str, words: list[str], scope: Scope) -> list[FoundParty]:
    digits = "".join(one for one in said if one.isdecimal())
    by_phone = scope.phones and len(digits) >= PHONE_DIGITS and not any(one.isalpha() for one in said)
    asked = (
        select(PartyRow.id, PartyRow.contact_name, PartyRow.phone)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .order_by(col(SlotRow.starts_at).desc(), col(PartyRow.id))
    )
    if scope.day is not None:
        asked = asked.where(SlotRow.day == scope.day)
    ids = _first(
        (
            number
            for number, contact, phone in session.exec(asked)
            if _matches(words, contact) or (by_phone and digits in _digits(phone))
        ),
        MOST + 1,
    )
    found = (
        select(PartyRow, SlotRow, SiteRow)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(col(PartyRow.id).in_(ids))
        .order_by(col(SlotRow.starts_at).desc(), col(PartyRow.id))
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
        for party, slot, site in session.exec(found)
    ]


def _groups(session: Session, words: list[str]) -> list[FoundGroup]:
    asked = (
        select(GroupRow, SlotRow, SiteRow)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .order_by(col(SlotRow.starts_at).desc(), GroupRow.name)
        .limit(20 * MOST)
    )
    # Groups are called A, B, C: part of such a name finds nothing useful, the whole name does.
    name = " ".join(words[1:] if words[0] == "group" and len(words) > 1 else words)
    return [
        FoundGroup(group.id or 0, group.name, slot.day, f"{slot.clock} {site.name}")
        for group, slot, site in session.exec(asked)
        if fold(group.name) == name
    ]


def _items(session: Session, words: list[str]) -> list[KitItemRow]:
    rows = session.exec(select(KitItemRow).order_by(KitItemRow.number))
    return [row for row in rows if _matches(words, f"{row.kind} {row.number}") and _is_number(words)]


def _numbered(rows: Iterable[CylinderRow], words: list[str], kind: str) -> list[CylinderRow]:
    return [row for row in rows if _matches(words, f"{kind} {row.number}") and _is_number(words)]


def _is_number(words: list[str]) -> bool:
    """Whether the words can mean a numbered thing: names of people have no digits."""
    return any(one.isdecimal() for word in words for one in word)


def _matches(words: list[str], text: str) -> bool:
    folded = fold(text)
    return all(word in folded for word in words)


def _digits(phone: str) -> str:
    return "".join(one for one in phone if one.isdecimal())


def _first(numbers: Iterable[int | None], most: int) -> list[int]:
    found: list[int] = []
    for number in numbers:
        if number is not None:
            found.append(number)
        if len(found) == most:
            break
    return found
