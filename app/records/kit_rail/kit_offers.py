"""What the rail can offer the guests of a slot: pieces that fit and are free when the slot begins."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import Session

from app.records.groups.groups import booked_guests, newest_conditions
from app.records.kit_rail import kit, kit_sizes
from app.records.kit_rail.kit import ItemView, Loan
from app.records.setup.shop import limits_now
from app.records.tables.parties import GuestRow, SlotRow
from app.records.welcome.bookings import SlotView, slots_of
from app.rules.kit import clean_from, first_dive_needs, lacking, may_give
from app.rules.kit_offers import Offer, Piece, Short, Want, share_out
from app.rules.limits import SLOT_LENGTH
from app.rules.resolve import Limits
from app.rules.size_chart import first_sizes, sizes_to_try


@dataclass(frozen=True)
class Offered:
    """One piece for a guest. ready: it may go out now.

    after: the guest and slot that have it first, "Ann of 10:30"; "" for a piece on the rail.
    """

    view: ItemView
    ready: bool
    free_from: datetime
    after: str = ""


@dataclass(frozen=True)
class Lack:
    """A kind for which a guest gets nothing.

    view: the piece of another slot that would fit and comes too late; after: who of that slot has it first.
    """

    kind: str
    size: str
    view: ItemView | None = None
    free_from: datetime | None = None
    after: str = ""


@dataclass(frozen=True)
class Fitting:
    """How far one guest is with the kit. first: kind -> the size to try first.

    needs: what this dive needs; missing: what of it the guest does not have yet; nothing missing is fitted.
    """

    guest: GuestRow
    needs: tuple[str, ...]
    has: tuple[Loan, ...]
    missing: tuple[str, ...]
    offers: tuple[Offered, ...]
    lacks: tuple[Lack, ...]
    first: dict[str, str]

    @property
    def fitted(self) -> bool:
        """Whether nothing is missing for this dive."""
        return not self.missing

    @property
    def ready(self) -> tuple[ItemView, ...]:
        """The pieces that may be given out this minute."""
        return tuple(one.view for one in self.offers if one.ready)


def needs_of(session: Session, slot: SlotView, limits: Limits) -> tuple[str, ...]:
    """Return the kinds that a first dive in this slot needs; the newest look at the water counts."""
    looked = newest_conditions(session, [slot.slot.id]).get(slot.slot.id or 0)
    measured = None if looked is None else looked.water_temp_c
    water_c = slot.site.usual_temp_c if measured is None else measured
    return first_dive_needs(kit_sizes.needs_now(session), water_c, limits)


def fittings(session: Session, slot: SlotView, now: datetime, views: Sequence[ItemView]) -> list[Fitting]:
    """Return how far each guest of a slot is, and what fits: earlier and overlapping slots choose first.

    views: every item of the rail. No item is offered to two guests at one time.
    """
    limits = limits_now(session)
    day = slot.slot.day
    booked = booked_guests(session, day)
    asked = [
        one
        for one in slots_of(session, day)
        if one.slot.id == slot.slot.id or now < one.slot.starts_at <= slot.slot.starts_at
    ]
    guests = [guest for one in asked for guest in booked.get(one.slot.id or 0, [])]
    loans = kit.loans_of(session, [guest.id for guest in guests])
    told, chart = kit_sizes.told_of(session, guests), kit_sizes.chart_now(session)
    wants, needs, firsts = [], {}, {}
    for one in asked:
        kinds = needs_of(session, one, limits)
        begins = max(one.slot.starts_at, now)
        for guest in booked.get(one.slot.id or 0, []):
            number = guest.id or 0
            needs[number] = kinds
            firsts[number] = dict(first_sizes(guest.height_cm, guest.mass_kg, guest.shoe_size, chart))
            for kind in lacking(kinds, {loan.item.kind for loan in loans.get(number, [])}):
                sizes = sizes_to_try(kind, firsts[number][kind], told[number].get(kind, ()))
                wants.append(Want(number, kind, sizes, begins, _until(begins, limits)))
    offers, shorts = share_out(wants, pieces(views, day, now, limits))
    by_id = {view.row.id or 0: view for view in views}
    whose = {guest.id or 0: one for one in asked for guest in booked.get(one.slot.id or 0, [])}
    names = {guest.id or 0: f"{guest.call_name} of {whose[guest.id or 0].slot.clock}" for guest in guests}
    found = []
    for guest in booked.get(slot.slot.id or 0, []):
        number = guest.id or 0
        has = tuple(loans.get(number, ()))
        lacks = []
        for short in shorts:
            if short.guest_id == number:
                before = None if short.meant_for is None else whose[short.meant_for].slot
                lacks.append(_lack(short, by_id, slot, names.get(short.meant_for or 0, ""), before))
        found.append(
            Fitting(
                guest,
                needs[number],
                has,
                lacking(needs[number], {loan.item.kind for loan in has}),
                tuple(_offered(one, offers, by_id, names) for one in offers if one.guest_id == number),
                tuple(lacks),
                firsts[number],
            )
        )
    return found


def pieces(views: Iterable[ItemView], day: date, now: datetime, limits: Limits) -> list[Piece]:
    """Return every piece that is or will be free: out pieces count from when they are back and clean."""
    found = []
    for view in views:
        ready = may_give(view.facts, day, now, limits).allowed
        free_from = now if ready else _free_from(view, now, limits)
        if free_from is None or not may_give(kit.once_clean(view.facts), day, now, limits).allowed:
            continue
        found.append(Piece(view.row.id or 0, view.row.kind, view.row.size, free_from, ready))
    return found


def _free_from(view: ItemView, now: datetime, limits: Limits) -> datetime | None:
    back = view.back_about(now, limits)
    if view.out is not None:
        return None if back is None else clean_from(back, limits)
    return view.wet_until(now, limits) or now


def _until(begins: datetime, limits: Limits) -> datetime:
    minutes = limits[SLOT_LENGTH].number or 0.0
    back = begins + timedelta(minutes=minutes)
    return clean_from(back, limits) or back + timedelta(days=1)


def _offered(one: Offer, offers: list[Offer], by_id: dict[int, ItemView], names: dict[int, str]) -> Offered:
    view = by_id[one.item_id]
    before = [other for other in offers if other.item_id == one.item_id]
    at = before.index(one)
    after = names[before[at - 1].guest_id] if at else _holder(view)
    return Offered(view, one.ready, one.free_from, after)


def _lack(
    one: Short, by_id: dict[int, ItemView], slot: SlotView, meant_for: str, meant_in: SlotRow | None
) -> Lack:
    view = None if one.item_id is None else by_id[one.item_id]
    held_in = meant_in or (None if view is None else view.slot)
    if view is None or held_in is None or held_in.id == slot.slot.id:
        return Lack(one.kind, one.size)
    return Lack(one.kind, one.size, view, one.free_from, meant_for or _holder(view))


def _holder(view: ItemView) -> str:
    return "" if view.holder is None or view.slot is None else f"{view.holder.call_name} of {view.slot.clock}"


def who_lacks(
    session: Session, view: ItemView, day: date, now: datetime, most: int
) -> list[tuple[GuestRow, SlotView, bool]]:
    """Return the guests of a day's next slots who need this kind and have none: guest, slot, size fits.

    Slots in order of time; within a slot those first whom the size fits. `most` guests at the longest.
    """
    limits = limits_now(session)
    length = timedelta(minutes=limits[SLOT_LENGTH].number or 0.0)
    slots = [one for one in slots_of(session, day) if one.slot.starts_at + length > now]
    booked = booked_guests(session, day)
    guests = [guest for one in slots for guest in booked.get(one.slot.id or 0, [])]
    loans = kit.loans_of(session, [guest.id for guest in guests])
    told, chart = kit_sizes.told_of(session, guests), kit_sizes.chart_now(session)
    kind, found = view.row.kind, []
    for one in slots:
        lacks = []
        for guest in booked.get(one.slot.id or 0, []):
            if any(loan.item.kind == kind for loan in loans.get(guest.id or 0, ())):
                continue
            first = first_sizes(guest.height_cm, guest.mass_kg, guest.shoe_size, chart)[kind]
            sizes = sizes_to_try(kind, first, told[guest.id or 0].get(kind, ()))
            lacks.append((guest, one, view.row.size in sizes))
        found += sorted(lacks, key=lambda lack: not lack[2])
    return found[:most]
