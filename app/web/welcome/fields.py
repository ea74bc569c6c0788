"""Reading what the desk writes of a party: its contact, its guests, its price."""

from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from app.actions.welcome.welcome import Contact, NewGuest, NewParty
from app.records.setup.shop import limits_now
from app.records.tables.parties import GuestRow
from app.rules import limits as L
from app.rules.booking import judge_measure
from app.rules.gas import Level
from app.rules.languages import codes_of, say_languages
from app.rules.resolve import Limits
from app.web.fields import Fields
from app.web.front import Front
from app.web.welcome.flights import read_flight, typed_flight

MOST_AT_ONCE = 8
SWIMMING = (("", "Choose"), ("strong", "Swims well"), ("some", "Swims some"), ("none", "Does not swim"))
SWIMS = {value: label for value, label in SWIMMING if value}
HERE = (("yes", "Here now"), ("no", "Booked ahead"))
SMALLEST_SHOE, LARGEST_SHOE = 20, 55
HIGHEST_PRICE = 99_999
DAYS_IN_YEAR = 366


@dataclass(frozen=True)
class Unusual:
    """A size that is possible and rare: shown for a second look, not refused."""

    who: str
    sentence: str
    rule: str


def read_party(fields: Fields, front: Front) -> NewParty:
    """Read the whole booking form; mistakes are collected in ``fields``."""
    people = fields.whole("people", "Number of people", 1, MOST_AT_ONCE) or 0
    fields.text("day", "the day", needed=False)
    slot = fields.whole("slot", "Slot", 1, 10**9, needed=False)
    if slot is None:
        fields.wrong("slot", "Choose a time.")
    here = fields.choice("walk_in", "whether they are here now", [value for value, _ in HERE])
    contact = read_contact(fields)
    guests = tuple(read_guest(fields, front, f"g{number}_") for number in range(1, people + 1))
    return NewParty(slot or 0, here == "yes", contact, guests, read_price(fields, needed=False))


def read_contact(fields: Fields) -> Contact:
    """Read contact and emergency contact; the latter may follow later."""
    return Contact(
        contact_name=fields.text("contact_name", "the contact's name"),
        phone=fields.text("phone", "a phone number", most=40),
        email=_email(fields),
        emergency_name=fields.text("emergency_name", "the emergency contact's name", needed=False),
        emergency_phone=fields.text("emergency_phone", "the emergency phone", most=40, needed=False),
        note=fields.note("note", "the note"),
    )


def read_price(fields: Fields, *, needed: bool) -> int | None:
    """Read a price for the whole party and return it in cents."""
    price = fields.number("price", "Price", 0, HIGHEST_PRICE, "", needed=needed)
    return None if price is None else round(price * 100)


def read_guest(fields: Fields, front: Front, prefix: str = "") -> NewGuest:
    """Read one guest; sizes outside what a person can have are refused with the range."""
    limits = limits_now(front.session)
    full = fields.text(f"{prefix}full_name", "the full name")
    call = fields.text(f"{prefix}call_name", "what we call the guest", most=40, needed=False)
    oldest = front.today - timedelta(days=DAYS_IN_YEAR * int(limits[L.AGE_HIGHEST].number or 0))
    born = fields.date3(f"{prefix}birth", "the birth date", oldest, front.today)
    return NewGuest(
        full_name=full,
        call_name=call or (full.split()[0] if full else ""),
        birth_date=born or front.today,
        height_cm=_size(fields, limits, f"{prefix}height_cm", "Height", "cm"),
        mass_kg=_size(fields, limits, f"{prefix}mass_kg", "Weight", "kg"),
        shoe_size=fields.required_number(f"{prefix}shoe_size", "Shoe size", SMALLEST_SHOE, LARGEST_SHOE, ""),
        languages=_languages(fields, f"{prefix}languages"),
        swimming=fields.choice(f"{prefix}swimming", "how well the guest swims", list(SWIMS)),
        flight=read_flight(fields, front, prefix),
        earlier_id=fields.whole(f"{prefix}earlier", "The earlier visit", 1, 10**9, needed=False),
    )


def typed_guest(row: GuestRow, zone: ZoneInfo) -> dict[str, str]:
    """Return a guest as the form shows it."""
    return {
        "full_name": row.full_name,
        "call_name": row.call_name,
        "birth": row.birth_date.isoformat(),
        "height_cm": f"{row.height_cm:g}",
        "mass_kg": f"{row.mass_kg:g}",
        "shoe_size": f"{row.shoe_size:g}",
        "languages": say_languages(row.languages),
        "swimming": row.swimming,
        **typed_flight(row, zone),
    }


def typed_birth(values: dict[str, str], prefix: str) -> str:
    """Return the three boxes of a birth date as the form's macro takes them."""
    parts = [values.get(f"{prefix}birth_{part}", "") for part in ("year", "month", "day")]
    return "-".join(parts) if any(parts) else ""


def unusual(guests: tuple[NewGuest, ...], day: date, limits: Limits) -> list[Unusual]:
    """Return what deserves a second look before it is saved."""
    found = []
    for guest in guests:
        age = (day - guest.birth_date).days / 365.25
        for kind, value in (("height", guest.height_cm), ("weight", guest.mass_kg), ("age", age)):
            judged = judge_measure(kind, value, limits)  # type: ignore[arg-type]
            if judged.level is Level.UNUSUAL:
                found.append(Unusual(guest.call_name, judged.sentence, judged.rule))
    return found


def _size(fields: Fields, limits: Limits, name: str, label: str, unit: str) -> float:
    lowest, highest = (
        (L.HEIGHT_LOWEST, L.HEIGHT_HIGHEST) if unit == "cm" else (L.WEIGHT_LOWEST, L.WEIGHT_HIGHEST)
    )
    low, high = limits[lowest].number or 0, limits[highest].number or 0
    return fields.required_number(name, label, low, high, unit)


def _languages(fields: Fields, name: str) -> str:
    codes, strange = codes_of(fields.text(name, "the languages, for example English, German"))
    if strange:
        fields.wrong(name, f'Write "{strange[0]}" in English or as two letters, for example de for German.')
    return " ".join(codes)


def _email(fields: Fields) -> str:
    said = fields.text("email", "the e-mail address", needed=False)
    if said and ("@" not in said.strip("@") or " " in said):
        fields.wrong("email", "Write the e-mail address with a name, an @ and a place, or leave it empty.")
    return said
