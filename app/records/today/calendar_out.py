"""The shop's slots and staff as a calendar (RFC 5545): stable ids, no guest's name, nothing of health."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from sqlmodel import Session

from app.records.groups.groups import GroupView, groups_of
from app.records.setup.shop import Shop, limits_now
from app.records.store.house import House
from app.records.welcome.bookings import SlotView, slots_between
from app.rules.limits import SLOT_LENGTH

if TYPE_CHECKING:
    from icalendar import Event

MAKER = "-//Daybuoy//slots and staff//EN"


def calendar(
    session: Session, house: House, shop: Shop, first: date, last: date, person_id: int | None, now: datetime
) -> tuple[bytes, int]:
    """Return the calendar of days, both included, and how many events it has.

    person_id: for one person of the team only the groups that they lead or help; None: every slot and group.
    """
    from icalendar import Calendar

    book = Calendar()
    book.add("prodid", MAKER)
    book.add("version", "2.0")
    book.add("name", shop.name)
    length = timedelta(minutes=limits_now(session)[SLOT_LENGTH].number or 0)
    slots = slots_between(session, first, last)
    if person_id is None:
        for slot in slots:
            book.add_component(_slot(house, slot, length, now))
    for day in sorted({slot.slot.day for slot in slots}):
        for view in groups_of(session, day):
            if person_id is None or person_id in {one.row.person_id for one in view.members}:
                book.add_component(_group(house, view, length, now))
    return book.to_ical(), len(book.subcomponents)


def stable_id(house: House, kind: str, number: int) -> str:
    """Return the same id for the same slot or group for ever, and another one in another shop."""
    return f"{kind}-{number}-{house.master.digest('calendar', kind)[:16]}@daybuoy"


def _slot(house: House, slot: SlotView, length: timedelta, now: datetime) -> "Event":
    row = slot.slot
    words = f"{slot.taken} of {row.places} places taken"
    event = _event(
        stable_id(house, "slot", row.id or 0), f"Slot {slot.label}: {words}", row.starts_at, length, now
    )
    event.add("location", slot.site.name)
    event.add("sequence", row.version)
    if not row.open:
        event.add("comment", "Closed for booking")
    return event


def _group(house: House, view: GroupView, length: timedelta, now: datetime) -> "Event":
    event = _event(
        stable_id(house, "group", view.id),
        f"Group {view.group.name}, {view.site.name}: {len(view.guests)} guests",
        view.slot.starts_at,
        length,
        now,
    )
    event.add("location", view.site.name)
    event.add("sequence", view.group.version)
    event.add("description", "\n".join(_staff(view)))
    if view.group.aborted_at is not None:
        event.add("status", "CANCELLED")
    return event


def _staff(view: GroupView) -> Iterable[str]:
    """Who of the team does what; guests are counted and never named."""
    for word, name in (
        ("Guide", view.guide and view.guide.name),
        ("Assistant", view.assistant and view.assistant.name),
        ("Surface watch", view.surface_watch and view.surface_watch.name),
        ("Safety diver", view.safety_diver and view.safety_diver.name),
    ):
        if name:
            yield f"{word}: {name}"


def _event(uid: str, words: str, begin: datetime, length: timedelta, now: datetime) -> "Event":
    # Loaded when a calendar is asked for: it is the only reader.
    from icalendar import Event

    event = Event()
    event.add("uid", uid)
    event.add("summary", words)
    event.add("dtstamp", now.astimezone(UTC))
    event.add("dtstart", begin.astimezone(UTC))
    event.add("dtend", (begin + length).astimezone(UTC))
    return event
