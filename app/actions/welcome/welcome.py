"""Welcome: booking a party. The rule is asked inside the transaction: the last place is sold once."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from secrets import token_hex
from typing import Any

from app.actions.act import Act
from app.actions.welcome.returning import link_guest
from app.records.setup.shop import closed_day, limits_now, the_shop
from app.records.store.db import Session
from app.records.tables.parties import GuestRow, PartyRow
from app.records.welcome.bookings import slot_facts, slot_view
from app.rules.booking import BookedGuest, may_book
from app.rules.decision import Decision
from app.rules.flying import NOT_ASKED, Flight, flights_fit
from app.rules.party_change import day_is_open


@dataclass(frozen=True)
class NewGuest:
    """What the desk writes down of one guest. Height in cm, mass in kg, European shoe size.

    languages: two letters each, separated by spaces. swimming: "strong", "some" or "none".
    flight: what the guest says of flying. earlier_id: an earlier visit of the same person, as the desk says.
    """

    full_name: str
    call_name: str
    birth_date: date
    height_cm: float
    mass_kg: float
    shoe_size: float
    languages: str
    swimming: str
    flight: Flight = NOT_ASKED
    earlier_id: int | None = None

    def values(self) -> dict[str, Any]:
        """The same by column."""
        plain = {name: value for name, value in vars(self).items() if name not in ("flight", "earlier_id")}
        return {**plain, "flight_told": self.flight.told, "flight_at": self.flight.at}


@dataclass(frozen=True)
class Contact:
    """Whom the shop calls about a party, and whom it calls in an emergency."""

    contact_name: str
    phone: str
    email: str
    emergency_name: str
    emergency_phone: str
    note: str

    def values(self) -> dict[str, Any]:
        """The same by column."""
        return dict(vars(self))


@dataclass(frozen=True)
class NewParty:
    """A party that wants places.

    walk_in: it stands at the counter. price_cents: None takes the shop's price for each guest.
    """

    slot_id: int
    walk_in: bool
    contact: Contact
    guests: tuple[NewGuest, ...]
    price_cents: int | None = None


def may_book_party(session: Session, new: NewParty, now: datetime) -> Decision:
    """Ask whether a party may have its places, without booking; raises NotHere for no such slot."""
    view, limits = slot_view(session, new.slot_id), limits_now(session)
    places = may_book(
        tuple(BookedGuest(one.full_name, one.birth_date) for one in new.guests),
        slot_facts(view),
        now,
        limits,
        at_the_counter=new.walk_in,
    )
    flights = flights_fit([(one.call_name, one.flight) for one in new.guests], view.slot.starts_at, limits)
    return day_is_open(closed_day(session, view.slot.day) is not None) + places + flights


def book_party(act: Act, new: NewParty) -> PartyRow:
    """Book a party; raises Refused with every reason, NotHere for no such slot."""
    decision = may_book_party(act.session, new, act.now)
    act.allow(decision)
    act.notices += [replace(one, who="") for one in decision.notes]
    price = new.price_cents
    if price is None:
        price = the_shop(act.session).price_guest_cents * len(new.guests)
    party = act.add(
        PartyRow(
            ref=token_hex(8),
            slot_id=new.slot_id,
            walk_in=new.walk_in,
            price_cents=price,
            booked_at=act.now,
            **new.contact.values(),
        )
    )
    for guest in new.guests:
        row = act.add(GuestRow(ref=token_hex(8), party_id=party.id or 0, **guest.values()))
        if guest.earlier_id is not None:
            link_guest(act, row.id or 0, guest.earlier_id)
    act.about = ("party", str(party.id))
    return party
