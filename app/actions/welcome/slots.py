"""Slots of a day: adding one, its places, closing it, and the same slots again for another day."""

from datetime import UTC, date, datetime, time

from sqlmodel import select

from app.actions.act import Act, Invalid
from app.records.setup.shop import the_shop
from app.records.tables.house import SiteRow
from app.records.tables.parties import SlotRow
from app.records.welcome.bookings import slot_view, slots_of
from app.rules import limits as L
from app.rules.measure import must

SLOT_LABELS = {"places": "Places", "open": "Open for booking"}


def add_slot(act: Act, day: date, clock: str, site_id: int, places: int) -> SlotRow:
    """Add a slot on a day; clock is "HH:MM" on the shop's clock.

    Raises Invalid for a time that the clock jumps over that night, for the same time and site twice, and
    for a site that is not used any more; NotHere for no such site.
    """
    site = act.get(SiteRow, site_id)
    if not site.active:
        raise Invalid({"site": "This site is not used any more. Choose another."})
    twice = select(SlotRow).where(SlotRow.day == day, SlotRow.clock == clock, SlotRow.site_id == site_id)
    if act.session.exec(twice).first() is not None:
        raise Invalid({"clock": f"There is a slot at {clock} at this site already. Choose another time."})
    starts_at = _instant(act, day, clock)
    row = act.add(SlotRow(day=day, clock=clock, starts_at=starts_at, site_id=site_id, places=places))
    act.about = ("slot", str(row.id))
    return row


def change_slot(act: Act, slot_id: int, version: int, places: int, open_: bool) -> SlotRow:
    """Change a slot's places, close it for booking or open it again.

    Raises Refused for fewer places than booked guests, Clash for a stale version, NotHere.
    """
    view = slot_view(act.session, slot_id)
    act.edit(view.slot, version, {"places": places, "open": open_}, SLOT_LABELS)
    act.allow(
        must(
            L.PLACES_LEFT,
            places >= view.taken,
            f"{view.taken} guests are booked for {view.label}. Move guests first.",
            found=f"{places} places",
            needed=f"at least {view.taken} places",
        )
    )
    act.about = ("slot", str(slot_id))
    return view.slot


def copy_slots(act: Act, from_day: date, to_day: date) -> list[SlotRow]:
    """Make the open slots of a day again on another day, leaving out those already there.

    Raises Invalid when there is nothing to add.
    """
    there = {(view.slot.clock, view.slot.site_id) for view in slots_of(act.session, to_day)}
    made = [
        add_slot(act, to_day, view.slot.clock, view.slot.site_id, view.slot.places)
        for view in slots_of(act.session, from_day)
        if view.slot.open and view.site.active and (view.slot.clock, view.slot.site_id) not in there
    ]
    if not made:
        raise Invalid({"form": "That day already has all these slots. Add others by hand."})
    return made


def _instant(act: Act, day: date, clock: str) -> datetime:
    hours, minutes = map(int, clock.split(":"))
    zone = the_shop(act.session).zone
    said = datetime.combine(day, time(hours, minutes), zone)
    instant = said.astimezone(UTC)
    if instant.astimezone(zone).replace(tzinfo=None) != said.replace(tzinfo=None):
        raise Invalid({"clock": f"The clock jumps over {clock} that night. Choose another time."})
    return instant
