"""Slots, parties and guests: who comes when."""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link

# How much of a guest's random reference tells two erased guests apart.
_TOLD_APART = 6


def name_once_erased(ref: str) -> str:
    """Return what stands for the name of an erased guest or contact, from the random reference."""
    return f"a guest {ref[:_TOLD_APART]}"


class SlotRow(Row, table=True):
    """A start time on a day at a site, with a number of places."""

    __tablename__ = "slot"
    id: int | None = key()
    # The shop's own date and clock time, and the instant they meant when the slot was made.
    day: date = Field(index=True)
    clock: str
    starts_at: datetime = instant(index=True)
    site_id: int = link("site.id")
    places: int
    open: bool = True
    version: int = 1


class ConditionsRow(Row, table=True):
    """A look at the site for a slot: readings and the grade stated by a named person. Add only."""

    __tablename__ = "conditions"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    slot_id: int = link("slot.id")
    # "good", "fair", "poor" or "no-go"
    grade: str
    visibility_m: float | None = None
    current_m_s: float | None = None
    sea: str = ""
    # A key of ``WIND_WORDS``; "" where nobody said.
    wind: str = ""
    water_temp_c: float | None = None
    seen_by_id: int = link("person.id")
    seen_by: str
    at: datetime = instant()


class PartyRow(Row, table=True):
    """Guests who booked together, with one contact."""

    __tablename__ = "party"
    personal: ClassVar[frozenset[str]] = frozenset(
        {"contact_name", "phone", "email", "emergency_name", "emergency_phone", "note"}
    )
    id: int | None = key()
    ref: str = Field(unique=True)
    slot_id: int = link("slot.id")
    contact_name: str
    phone: str = ""
    email: str = ""
    emergency_name: str = ""
    emergency_phone: str = ""
    walk_in: bool = False
    # "booked", "cancelled" or "no-show"
    state: str = Field(default="booked", index=True)
    price_cents: int = 0
    paid_at: datetime | None = instant(empty=True)
    paid_to: str = ""
    note: str = ""
    booked_at: datetime = instant()
    version: int = 1

    def key_owner(self) -> str:
        """The party's own key seals its contact."""
        return f"party:{self.ref}"


class GuestRow(Row, table=True):
    """A person without a certification who comes to try."""

    __tablename__ = "guest"
    personal: ClassVar[frozenset[str]] = frozenset(
        {"full_name", "call_name", "birth_date", "height_cm", "mass_kg", "shoe_size", "flight_at"}
    )
    id: int | None = key()
    # Random: joins to sealed health records without naming the booking.
    ref: str = Field(unique=True)
    party_id: int = link("party.id")
    full_name: str
    call_name: str
    birth_date: date
    height_cm: float
    mass_kg: float
    shoe_size: float
    languages: str = "en"
    # "strong", "some" or "none": what the guest says about swimming
    swimming: str = "some"
    # What the guest said of flying or going high: "" not asked, "unknown", "none", "at" or "from" an instant.
    flight_told: str = ""
    flight_at: datetime | None = instant(empty=True)
    # "booked", "cancelled" or "no-show"
    state: str = Field(default="booked", index=True)
    version: int = 1

    def key_owner(self) -> str:
        """The guest's own key seals what tells who the guest is."""
        return f"guest:{self.ref}"
