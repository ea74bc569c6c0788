"""What changes about a booked party and its guests after booking.

Every change is written first and judged as it then stands, in the same transaction; a refusal undoes it.
Nobody who went in the water is moved, cancelled or taken out.
"""

from dataclasses import replace
from secrets import token_hex
from typing import Any

from app.actions.act import Act, Clash, Difference
from app.actions.welcome.returning import link_guest
from app.actions.welcome.welcome import Contact, NewGuest
from app.records.groups.placements import Place, places_of
from app.records.kit_rail.kit import loans_of
from app.records.setup.shop import closed_day, limits_now, the_shop
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.records.welcome.bookings import BOOKED, PartyView, flight_of, party_view, slot_facts, slot_view
from app.rules import party_change
from app.rules.booking import BookedGuest, may_book, may_come, may_have_places
from app.rules.decision import Reason
from app.rules.flying import flights_fit
from app.rules.limits import GUEST_BOOKED, KIT_RETURNED

CANCELLED, NO_SHOW = "cancelled", "no-show"
PARTY_LABELS = {
    "contact_name": "Contact",
    "phone": "Phone",
    "email": "E-mail",
    "emergency_name": "Emergency contact",
    "emergency_phone": "Emergency phone",
    "note": "Note",
    "price_cents": "Price in cents",
    "paid_at": "Paid at",
    "paid_to": "Paid to",
    "state": "State",
    "slot_id": "Slot",
}
GUEST_LABELS = {
    "full_name": "Full name",
    "call_name": "What we call the guest",
    "birth_date": "Birth date",
    "height_cm": "Height in cm",
    "mass_kg": "Weight in kg",
    "shoe_size": "Shoe size",
    "languages": "Languages",
    "swimming": "Swimming",
    "flight_told": "Flying",
    "flight_at": "Flight at",
    "state": "State",
}
LEFT = {"left_at": "Left at", "left_by": "Taken out by"}


def edit_party(act: Act, party_id: int, version: int, contact: Contact, price_cents: int) -> PartyRow:
    """Change a party's contact and price; raises Clash with both values, NotHere."""
    party = act.get(PartyRow, party_id)
    act.edit(party, version, {**contact.values(), "price_cents": price_cents}, PARTY_LABELS)
    act.about = ("party", str(party_id))
    return party


def mark_paid(act: Act, party_id: int, version: int, *, paid: bool) -> PartyRow:
    """Mark a party as paid, or take the mark back; raises Clash, NotHere."""
    values = {"paid_at": act.now if paid else None, "paid_to": act.actor.name if paid else ""}
    party = act.get(PartyRow, party_id)
    words = ("not paid", "paid")
    said = Difference("Payment", words[paid], words[party.paid_at is not None])
    _edit_said(act, party, version, values, said)
    act.about = ("party", str(party_id))
    return party


def move_party(act: Act, party_id: int, version: int, slot_id: int) -> PartyRow:
    """Move a party to another slot; its guests leave their groups first.

    Raises Clash, NotHere, and Refused when the slot has no room or is over, or when somebody went in.
    """
    view = party_view(act.session, party_id)
    wanted = slot_view(act.session, slot_id)
    said = Difference("Slot", wanted.label, view.slot.label)
    _edit_said(act, view.party, version, {"slot_id": slot_id}, said)
    act.about = ("party", str(party_id))
    act.allow(party_change.stands_booked(view.party.state))
    _leave_groups(act, view.booked)
    for slot in (view.slot.slot, wanted.slot):
        _day_is_open(act, slot)
    # Read anew: this party now counts among the places taken.
    new = slot_view(act.session, slot_id)
    people = tuple(BookedGuest(one.full_name, one.birth_date) for one in view.booked)
    facts = slot_facts(new, own=len(people))
    act.allow(may_book(people, facts, act.now, limits_now(act.session), at_the_counter=True))
    _flights_fit(act, view.booked, new.slot)
    return view.party


def cancel_party(act: Act, party_id: int, version: int) -> PartyRow:
    """Cancel a party; it stays in the records. Raises Clash, NotHere, Refused for who went in the water."""
    return _end(act, party_id, version, CANCELLED)


def no_show_party(act: Act, party_id: int, version: int) -> PartyRow:
    """Mark a party as not come; raises Clash, NotHere, Refused for who went in the water."""
    return _end(act, party_id, version, NO_SHOW)


def rebook_party(act: Act, party_id: int, version: int) -> PartyRow:
    """Undo a cancellation or a no-show, if the places are still there; raises Clash, Refused, NotHere.

    It asks for no time: a mark set by mistake is put right after the slot began, too.
    """
    view = party_view(act.session, party_id)
    _change(act, view, version, {"state": BOOKED})
    _still_room(act, party_id)
    _flights_fit(act, view.booked, view.slot.slot)
    return view.party


def add_guest(act: Act, party_id: int, new: NewGuest) -> GuestRow:
    """Add a guest to a booked party; raises Refused when the slot is full or the guest too young, NotHere."""
    view = party_view(act.session, party_id)
    _day_is_open(act, view.slot.slot)
    act.allow(party_change.stands_booked(view.party.state))
    row = act.add(GuestRow(ref=token_hex(8), party_id=party_id, **new.values()))
    if new.earlier_id is not None:
        link_guest(act, row.id or 0, new.earlier_id)
    _still_room(act, party_id)
    _flights_fit(act, (row,), view.slot.slot)
    _reprice(act, view.party, len(view.booked), 1)
    act.about = ("party", str(party_id))
    return row


def edit_guest(act: Act, guest_id: int, version: int, new: NewGuest) -> GuestRow:
    """Change what is written of a guest; raises Clash, Refused for an age the site does not take, NotHere.

    A flight that is too soon is written down all the same and said: the truth is never refused, the water is.
    """
    row = act.get(GuestRow, guest_id)
    view = party_view(act.session, row.party_id)
    act.edit(row, version, new.values(), GUEST_LABELS)
    _day_is_open(act, view.slot.slot)
    number = next(place for place, one in enumerate(view.guests, 1) if one.id == guest_id)
    guest = BookedGuest(new.full_name, new.birth_date)
    limits = limits_now(act.session)
    act.allow(may_come(number, guest, slot_facts(view.slot), limits))
    if row.state == BOOKED:
        fits = flights_fit([(row.call_name, flight_of(row))], view.slot.slot.starts_at, limits)
        act.notices += [replace(one, who="") for one in fits.as_notes().notes]
    act.about = ("guest", str(guest_id))
    return row


def leave_out_guest(act: Act, guest_id: int, version: int) -> GuestRow:
    """Take a guest out of a party; the row stays and can be brought back.

    Raises Clash, NotHere, Refused for who went in the water.
    """
    row = act.get(GuestRow, guest_id)
    view = party_view(act.session, row.party_id)
    before = len(view.booked)
    act.edit(row, version, {"state": CANCELLED}, GUEST_LABELS)
    _day_is_open(act, view.slot.slot)
    _leave_groups(act, (row,))
    _reprice(act, view.party, before, -1)
    act.about = ("guest", str(guest_id))
    return row


def bring_back_guest(act: Act, guest_id: int, version: int) -> GuestRow:
    """Undo taking a guest out, if the place is still there; raises Clash, Refused, NotHere."""
    row = act.get(GuestRow, guest_id)
    view = party_view(act.session, row.party_id)
    before = len(view.booked)
    act.edit(row, version, {"state": BOOKED}, GUEST_LABELS)
    _day_is_open(act, view.slot.slot)
    act.allow(party_change.stands_booked(view.party.state))
    _still_room(act, row.party_id)
    _flights_fit(act, (row,), view.slot.slot)
    _reprice(act, view.party, before, 1)
    act.about = ("guest", str(guest_id))
    return row


def _end(act: Act, party_id: int, version: int, state: str) -> PartyRow:
    view = party_view(act.session, party_id)
    _change(act, view, version, {"state": state})
    _leave_groups(act, view.booked)
    return view.party


def _change(act: Act, view: PartyView, version: int, values: dict[str, Any]) -> None:
    act.edit(view.party, version, values, PARTY_LABELS)
    _day_is_open(act, view.slot.slot)
    act.about = ("party", str(view.party.id))


def _edit_said(act: Act, party: PartyRow, version: int, values: dict[str, Any], said: Difference) -> None:
    """Edit a party; a clash names what differs in words, not in numbers of rows."""
    try:
        act.edit(party, version, values, PARTY_LABELS)
    except Clash as clash:
        raise Clash([said], clash.who, clash.when) from None


def _still_room(act: Act, party_id: int) -> None:
    """Ask for places for the whole party as it now stands; its own places do not count against it."""
    view = party_view(act.session, party_id)
    people = tuple(BookedGuest(one.full_name, one.birth_date) for one in view.booked)
    act.allow(may_have_places(people, slot_facts(view.slot, own=len(people)), limits_now(act.session)))


def _flights_fit(act: Act, guests: tuple[GuestRow, ...], slot: SlotRow) -> None:
    """Hold the flights told against a slot; raises Refused. What is only worth knowing is said."""
    people = [(one.call_name, flight_of(one)) for one in guests]
    fits = flights_fit(people, slot.starts_at, limits_now(act.session))
    act.allow(fits)
    act.notices += [replace(one, who="") for one in fits.notes]


def _leave_groups(act: Act, guests: tuple[GuestRow, ...]) -> None:
    """Take guests out of their groups; raises Refused for who went in the water.

    A guest who was answered for as ashore keeps the place in the group that went in: its roll call names
    everybody.
    """
    ids = [guest.id for guest in guests]
    places, loans = places_of(act.session, ids), loans_of(act.session, ids)
    for guest in guests:
        for place in places.get(guest.id or 0, []):
            out = place.group_is_out
            act.allow(party_change.may_leave_booking(guest.call_name, place.event, group_is_out=out))
            if place.current and not out:
                _leave(act, guest, place)
        items = ", ".join(loan.label for loan in loans.get(guest.id or 0, []))
        if items:
            text = f"{guest.call_name} still has {items}. Take it back at the kit rail."
            act.notices.append(Reason(KIT_RETURNED.key, text, "", ""))


def _leave(act: Act, guest: GuestRow, place: Place) -> None:
    act.edit(place.member, None, {"left_at": act.now, "left_by": act.actor.name}, LEFT)
    text = f"{guest.call_name} left group {place.group.name}."
    act.notices.append(Reason(GUEST_BOOKED.key, text, "", ""))


def _reprice(act: Act, party: PartyRow, before: int, change: int) -> None:
    """Let the price follow the head count; a price that somebody typed stays, and the page says so."""
    each = the_shop(act.session).price_guest_cents
    if party.price_cents == each * before and party.paid_at is None:
        act.edit(party, None, {"price_cents": each * (before + change)}, PARTY_LABELS)
    else:
        act.notices.append(Reason(GUEST_BOOKED.key, "Look at the price: it stayed as it was.", "", ""))


def _day_is_open(act: Act, slot: SlotRow) -> None:
    act.allow(party_change.day_is_open(closed_day(act.session, slot.day) is not None))
