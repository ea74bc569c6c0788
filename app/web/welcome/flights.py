"""When a guest flies: asked at the desk, shown in words, and held against the slots of a day."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from app.records.plans.flying import after_dives
from app.records.setup.shop import limits_now
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import SlotView, flight_of
from app.rules.decision import Reason
from app.rules.flying import CAUTION, Flight, Told, flights_fit
from app.web.fields import Fields
from app.web.front import LAST_DAY, Front
from app.web.pages import instant_of, say_clock

# Days of which the form offers each; after them "or later" is said. Four days are past every rule.
DAYS_OFFERED = 4
FROM = "from "


def read_flight(fields: Fields, front: Front, prefix: str = "") -> Flight:
    """Read ``flight`` and ``flight_clock``: a day, "from" a day on, "none" or "unknown"; it must be answered.

    A day without a time counts from its midnight, the earliest.
    """
    name = f"{prefix}flight"
    said = fields.text(name, "when the guest flies", needed=False)
    clock = fields.clock(f"{name}_clock", "the time of the flight", needed=False)
    if said == "none":
        return Flight("none")
    if said == "unknown":
        return Flight("unknown")
    told: Told = "from" if said.startswith(FROM) else "at"
    try:
        day = date.fromisoformat(said.removeprefix(FROM))
    except ValueError:
        fields.wrong(name, "Choose when the guest flies, or that it is not known.")
        return Flight()
    if not front.today - timedelta(days=1) <= day <= LAST_DAY:
        fields.wrong(name, "Choose a day of the flight from today on.")
        return Flight()
    zone = front.shop.zone
    return Flight(told, instant_of(day, clock if clock and told == "at" else "00:00", zone))


def typed_flight(row: GuestRow, zone: ZoneInfo) -> dict[str, str]:
    """Return a guest's flight as the form shows it."""
    flight = flight_of(row)
    if flight.told not in ("at", "from") or flight.at is None:
        return {"flight": row.flight_told, "flight_clock": ""}
    local = flight.at.astimezone(zone)
    day = local.date().isoformat()
    if flight.told == "from":
        return {"flight": FROM + day, "flight_clock": ""}
    return {"flight": day, "flight_clock": f"{local:%H:%M}"}


def flight_choices(front: Front, day: date, kept: str = "") -> list[tuple[str, str]]:
    """Return the choices around the day of a dive; one that is kept and lies outside is among them."""
    first = max(day, front.today)
    days = [first + timedelta(days=ahead) for ahead in range(DAYS_OFFERED)]
    choices = [(one.isoformat(), _short(one)) for one in days]
    last = first + timedelta(days=DAYS_OFFERED)
    choices.append((FROM + last.isoformat(), f"{_short(last)} or later"))
    if kept and kept not in ("none", "unknown") and kept not in {value for value, _ in choices}:
        choices.insert(0, (kept, _say_kept(kept)))
    return [("", "Choose"), ("none", "Not flying"), ("unknown", "Not known yet"), *choices]


def flight_words(flight: Flight, zone: ZoneInfo) -> str:
    """Say in a few words when somebody flies."""
    if flight.told == "none":
        return "not flying"
    if flight.at is None or flight.told not in ("at", "from"):
        return "flight not known" if flight.told == "unknown" else "not yet asked about flying"
    day = _short(flight.at.astimezone(zone).date())
    return f"flies {day} or later" if flight.told == "from" else f"flies {day} {say_clock(flight.at, zone)}"


def say_when(instant: datetime, zone: ZoneInfo) -> str:
    """Say an instant as "Thu 26 Nov 09:40" on the shop's clock."""
    return f"{_short(instant.astimezone(zone).date())} {say_clock(instant, zone)}"


def flying_context(front: Front, guests: Iterable[GuestRow], day: date) -> dict[str, Any]:
    """Return what pages need to say when guests of a day fly, and may fly after their dives."""
    return {
        "after_dives": after_dives(front.session, guests, day, front.now),
        "flies": lambda guest: flight_words(flight_of(guest), front.shop.zone),
        "when": lambda instant: say_when(instant, front.shop.zone),
        "flying_caution_words": CAUTION,
    }


def flights_typed(front: Front, kept: Mapping[str, str], people: int) -> list[tuple[str, Flight]]:
    """Return the flights in a form that is not finished: what cannot be read yet is not asked."""
    found = []
    for number in range(1, people + 1):
        prefix = f"g{number}_"
        names = ("flight", "flight_clock")
        fields = Fields({f"{prefix}{one}": kept.get(f"{prefix}{one}", "") for one in names}, {})
        flight = read_flight(fields, front, prefix)
        called = kept.get(f"{prefix}call_name") or kept.get(f"{prefix}full_name") or f"Guest {number}"
        found.append((called, Flight() if fields.errors else flight))
    return found


def too_late(
    front: Front, slots: Iterable[SlotView], people: Iterable[tuple[str, Flight]]
) -> dict[int, tuple[Reason, ...]]:
    """Return why slots end too late for these flights, by slot number; slots that fit are left out."""
    flights, limits = list(people), limits_now(front.session)
    found = {}
    for slot in slots:
        decision = flights_fit(flights, slot.slot.starts_at, limits)
        if not decision.allowed:
            found[slot.slot.id or 0] = decision.reasons
    return found


def say_too_late(reasons: tuple[Reason, ...]) -> str:
    """Say in one line for whom a slot ends too late, and why."""
    others = f" and {len(reasons) - 1} more" if len(reasons) > 1 else ""
    return f"Too late for the flight of {reasons[0].who}{others}: {say_gap(reasons)}"


def say_gap(reasons: tuple[Reason, ...]) -> str:
    """Say how far a flight is from the end of a slot, and how far it has to be."""
    first = reasons[0]
    if not first.found[:1].isdecimal():
        return f"it leaves {first.found}"
    return f"{first.found} {first.unit} after it ends, {first.needed} {first.unit} needed"


def _say_kept(kept: str) -> str:
    try:
        day = _short(date.fromisoformat(kept.removeprefix(FROM)))
    except ValueError:
        return kept
    return f"{day} or later" if kept.startswith(FROM) else day


def _short(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
