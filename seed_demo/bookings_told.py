"""Writing the invented bookings down as the desk does."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from sqlmodel import col, select

from app.actions.welcome import parties, welcome
from app.records.tables.parties import GuestRow, PartyRow
from app.rules.flying import Flight
from seed_demo.bookings import PARTIES, Guest, Party
from seed_demo.teller import ZONE, Teller

DESK = "Odile Marsh"


def book_all(story: Teller) -> None:
    """Book every party of the three days, and mark those who paid."""
    for one in PARTIES:
        with story.act(DESK, "book_party") as act:
            row = welcome.book_party(act, _new(story, one))
            written = select(GuestRow).where(GuestRow.party_id == row.id).order_by(col(GuestRow.id))
            for guest, known in zip(one.guests, act.session.exec(written), strict=True):
                story.guests[guest.name] = known.id or 0
            story.parties[one.contact] = row.id or 0
        if one.paid:
            with story.act(DESK, "mark_paid") as act:
                parties.mark_paid(act, row.id or 0, row.version, paid=True)


def end_as_booked(story: Teller, offset: int) -> None:
    """Mark the parties of a day that did not come or cancelled."""
    for one in PARTIES:
        if one.day == offset and one.end:
            number = story.parties[one.contact]
            with story.act(DESK, "cancel_party" if one.end == "cancelled" else "no_show_party") as act:
                version = act.get(PartyRow, number).version
                ended = parties.cancel_party if one.end == "cancelled" else parties.no_show_party
                ended(act, number, version)


def _new(story: Teller, one: Party) -> welcome.NewParty:
    day = story.today + timedelta(days=one.day)
    return welcome.NewParty(
        slot_id=story.slots[one.day, one.slot],
        walk_in=one.walk_in,
        contact=welcome.Contact(one.contact, one.phone, "", "Next of kin", "555 0190", ""),
        guests=tuple(_guest(day, guest) for guest in one.guests),
    )


def _guest(day: date, one: Guest) -> welcome.NewGuest:
    return welcome.NewGuest(
        full_name=one.name,
        call_name=one.call,
        birth_date=date(day.year - one.age, 1, 2),
        height_cm=one.height,
        mass_kg=one.mass,
        shoe_size=one.shoe,
        languages=one.languages,
        swimming=one.swimming,
        flight=Flight("none") if one.flies is None else flight_at(day, *one.flies),
    )


def tell_flight(story: Teller, name: str, after: int, clock: str) -> None:
    """Write down a flight that a guest tells later, days after today and at a time of the shop's clock."""
    known = {guest.name: guest for party in PARTIES for guest in party.guests}
    told = replace(_guest(story.today, known[name]), flight=flight_at(story.today, after, clock))
    with story.act(DESK, "edit_guest") as act:
        version = act.get(GuestRow, story.guests[name]).version
        parties.edit_guest(act, story.guests[name], version, told)


def flight_at(day: date, after: int, clock: str) -> Flight:
    """Return a flight a number of days after a day, at a time of the shop's clock."""
    flies = datetime.combine(day + timedelta(days=after), time.fromisoformat(clock), ZONE)
    return Flight("at", flies.astimezone(UTC))
