"""Guests who were here before: finding them, their visits, and what worked then."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.planning.breathing import Rates
from app.records.keep.search import FoundGuest, Scope, find_guests, phone_asked
from app.records.kit_rail.lead import OwnCheck, own_check
from app.records.setup.shop import limits_now, the_shop
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.house import SiteRow
from app.records.tables.kit_keeping import KitFitRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow, name_once_erased
from app.records.tables.returning import GuestLinkRow
from app.records.welcome.bookings import guest as guest_row
from app.records.welcome.bookings import party_view
from app.records.welcome.same_person import links_of, same_person
from app.rules.ages import age_on
from app.rules.folding import fold
from app.rules.limits import MAJORITY_AGE
from app.rules.said_day import said_day
from app.rules.size_chart import FITS

MOST_SHOWN = 12
EVERYBODY = Scope(parties=True, phones=True)


@dataclass(frozen=True)
class Visit:
    """One booking of a person: the guest's row, the day, the slot in words, and whether it became a dive."""

    guest: GuestRow
    day: date
    slot: str
    came: bool
    dived: bool


@dataclass(frozen=True)
class Sizes:
    """What was measured on an earlier visit, offered again. None of it is an answer."""

    guest_id: int
    day: date
    height_cm: float
    mass_kg: float
    shoe_size: float


@dataclass(frozen=True)
class Worked:
    """What worked on earlier visits. sizes: None where there is nothing to offer, child: because of the age.

    kit: kind -> (size, day) that was said to fit last. lead: the newest check in the water. rates: what is
    expected of the breathing, from `dives` dives of this very person; None without one.
    """

    sizes: Sizes | None
    child: bool
    kit: dict[str, tuple[str, date]]
    lead: OwnCheck | None
    rates: Rates | None
    dives: int


def find_earlier(session: Session, asked: str, before: date, without: int | None = None) -> list[FoundGuest]:
    """Return earlier visits found by part of a name, a phone number or a day: newest visit of each person.

    A day is that of a visit or of somebody's birth. before: the day of the visit that is being booked; later
    visits are left out. without: a guest whose own rows are left out. An erased guest has no name left and is
    not found.
    """
    phone = phone_asked(asked)
    day, rest = said_day(asked, before)
    words = fold(rest).split()
    if not (words or day or phone):
        return []
    if phone and day is None:
        found = find_guests(session, [], None, EVERYBODY, by_phone=phone)
    else:
        found = find_guests(session, words, day, EVERYBODY)
        if day is not None:
            found += find_guests(session, words, None, EVERYBODY, born=day)
    others = same_person(session, [*(one.guest_id for one in found), without])
    mine = others.get(without or 0, frozenset()) | {without}
    shown: list[FoundGuest] = []
    known: set[int] = set()
    for one in found:
        if one.day > before or one.guest_id in mine or one.guest_id in known:
            continue
        known |= {one.guest_id} | others[one.guest_id]
        shown.append(one)
    return shown[:MOST_SHOWN]


def likely_before(session: Session, guests: Iterable[GuestRow], day: date) -> dict[int, int]:
    """Return for guests without a link an earlier row of the same folded name and birth date.

    Guest number -> the newest such row of an earlier day. It is a hint for the desk, and links nobody.
    """
    rows = list(guests)
    names = {(fold(one.full_name), one.birth_date): one.id or 0 for one in rows if one.full_name}
    linked = same_person(session, [one.id for one in rows])
    asked = (
        select(col(GuestRow.id), col(GuestRow.full_name), col(GuestRow.birth_date))
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .where(col(GuestRow.birth_date).in_({one.birth_date for one in rows}), SlotRow.day < day)
        .order_by(col(SlotRow.starts_at))
    )
    found = {}
    for number, name, born in session.exec(asked):
        guest_id = names.get((fold(name), born))
        if guest_id is not None and number is not None and number != guest_id and not linked[guest_id]:
            found[guest_id] = number
    return found


def earlier_visits(session: Session, guest: GuestRow) -> list[Visit]:
    """Return the other visits of the same person, newest first."""
    others = same_person(session, [guest.id])[guest.id or 0]
    asked = (
        select(GuestRow, PartyRow, SlotRow, SiteRow)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(col(GuestRow.id).in_(others))
        .order_by(col(SlotRow.starts_at).desc())
    )
    rows = list(session.exec(asked))
    went = (
        select(MemberRow.guest_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .where(col(MemberRow.guest_id).in_(others), col(GroupRow.entered_at).is_not(None))
    )
    dived = set(session.exec(went))
    return [
        Visit(
            row,
            slot.day,
            f"{slot.clock} {site.name}",
            row.state == "booked" and party.state == "booked",
            row.id in dived,
        )
        for row, party, slot, site in rows
        if not is_erased(row)
    ]


def last_visits(session: Session, guests: Iterable[GuestRow], day: date) -> dict[int, date]:
    """Return the day of the newest linked visit before a day, by guest number, for who has one."""
    linked = same_person(session, [one.id for one in guests])
    everybody = {other for others in linked.values() for other in others}
    asked = (
        select(GuestRow, col(SlotRow.day))
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .where(col(GuestRow.id).in_(everybody), SlotRow.day <= day)
    )
    days = {row.id or 0: held for row, held in session.exec(asked) if not is_erased(row)}
    newest = {guest: [days[one] for one in others if one in days] for guest, others in linked.items()}
    return {guest: max(found) for guest, found in newest.items() if found}


def worked_before(session: Session, house: House, guest: GuestRow, before: date) -> Worked:
    """Return what worked on the linked earlier visits of a guest. One of health is never among it."""
    visits = [one for one in earlier_visits(session, guest) if one.day <= before]
    sizes, child = sizes_offered(session, visits, before)
    asked = (
        select(KitFitRow)
        .where(col(KitFitRow.guest_id).in_([one.guest.id for one in visits]), KitFitRow.said == FITS)
        .order_by(col(KitFitRow.id))
    )
    shop = the_shop(session)
    kit = {row.kind: (row.size, shop.day_of(row.at)) for row in session.exec(asked)}
    learned = house.breathing.now(session)
    dives = learned.own_dives(guest.id)
    rates = learned.guest(guest.id, guest.mass_kg) if dives else None
    return Worked(sizes, child, kit, own_check(session, guest) if visits else None, rates, dives)


def sizes_offered(session: Session, visits: Iterable[Visit], today: date) -> tuple[Sizes | None, bool]:
    """Return the newest sizes that may be offered, and whether a child's were held back: children grow."""
    majority = limits_now(session)[MAJORITY_AGE].number
    for one in visits:
        if not one.came:
            continue
        if majority is None or age_on(one.guest.birth_date, today) < majority:
            return None, True
        row = one.guest
        return Sizes(row.id or 0, one.day, row.height_cm, row.mass_kg, row.shoe_size), False
    return None, False


def visit_of(session: Session, guest_id: int) -> Visit:
    """Return one visit by its guest's row; raises NotHere, also for an erased guest."""
    row = guest_row(session, guest_id)
    if is_erased(row):
        raise NotHere("nobody of that number any more")
    view = party_view(session, row.party_id)
    came = row.state == "booked" and view.party.state == "booked"
    return Visit(row, view.slot.slot.day, view.slot.label, came, dived=False)


def is_erased(row: GuestRow) -> bool:
    """Return whether a guest was erased: what is left of the row tells nobody who it was."""
    return row.full_name in ("", name_once_erased(row.ref))


def own_links(session: Session, guest_id: int) -> dict[int, GuestLinkRow]:
    """Return the links of a guest's own row by the number of the other row."""
    return {
        row.earlier_id if row.guest_id == guest_id else row.guest_id: row
        for row in links_of(session, guest_id)
    }
