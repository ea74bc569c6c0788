"""May this party be booked into this slot, and do the sizes typed for a guest look like a person's?"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from app.rules import limits as L
from app.rules.ages import age_on
from app.rules.decision import Decision, all_of
from app.rules.gas import Judgement, Level
from app.rules.limits import Limit
from app.rules.measure import must, within
from app.rules.people import Where
from app.rules.resolve import Limits

Measure = Literal["height", "weight", "age"]
"""height in cm, weight in kg, age in whole years."""

_MEASURES: dict[Measure, tuple[str, Limit | None, Limit, Limit | None, Limit]] = {
    "height": ("Height", L.HEIGHT_LOWEST, L.HEIGHT_HIGHEST, L.HEIGHT_UNUSUAL_BELOW, L.HEIGHT_UNUSUAL_ABOVE),
    "weight": ("Weight", L.WEIGHT_LOWEST, L.WEIGHT_HIGHEST, L.WEIGHT_UNUSUAL_BELOW, L.WEIGHT_UNUSUAL_ABOVE),
    "age": ("Age", None, L.AGE_HIGHEST, None, L.AGE_UNUSUAL_ABOVE),
}


@dataclass(frozen=True, slots=True)
class SlotFacts:
    """A slot. start: aware UTC; day: the shop's date. places, taken: guests."""

    label: str
    day: date
    start: datetime
    where: Where
    places: int | None
    taken: int | None
    open: bool | None


@dataclass(frozen=True, slots=True)
class BookedGuest:
    """A guest of a party that is being booked."""

    name: str
    birth_date: date | None


def may_book(
    party: tuple[BookedGuest, ...],
    slot: SlotFacts,
    now: datetime,
    limits: Limits,
    *,
    at_the_counter: bool = False,
) -> Decision:
    """May this party have places in this slot at `now` (aware UTC)?

    Booking ahead ends some minutes before the slot; who stands at the counter may book until it starts.
    """
    return may_have_places(party, slot, limits) + _in_time(slot, now, limits, at_the_counter=at_the_counter)


def may_have_places(party: tuple[BookedGuest, ...], slot: SlotFacts, limits: Limits) -> Decision:
    """Is there room for this whole party, and is everybody in it named and old enough for the site?

    The slot's `taken` leaves this party's own places out.
    """
    size = within(
        limits[L.PARTY_SIZE_MAX],
        len(party) or None,
        unknown="Enter the number of people.",
        broken="This party is too large for one booking. Book it in two.",
    )
    return all_of(
        (
            size,
            _places(len(party), slot),
            *(may_come(number, guest, slot, limits) for number, guest in enumerate(party, 1)),
        )
    )


def may_come(number: int, guest: BookedGuest, slot: SlotFacts, limits: Limits) -> Decision:
    """Is the person with this place in the party named, and old enough for the slot's site?"""
    name = guest.name.strip()
    called = name or f"Person {number}"
    named = must(
        L.NAME_GIVEN,
        bool(name),
        f"Enter a name for person {number}.",
        found="no name",
        needed="a name",
        who=called,
    )
    short = within(
        limits[L.NAME_LENGTH_MAX],
        len(name),
        unknown=f"Enter a name for person {number}.",
        broken=f"The name of person {number} is too long. Shorten it.",
        who=called,
    )
    born = guest.birth_date
    age = None if born is None or born > slot.day else age_on(born, slot.day)
    pool = slot.where == "confined"
    old_enough = within(
        limits[L.AGE_MIN_POOL if pool else L.AGE_MIN_OPEN_WATER],
        age,
        unknown=f"{called}'s date of birth is missing or lies ahead. Enter it.",
        broken=f"{called} is too young for this site on that day. Choose another site.",
        who=called,
    )
    return all_of((named, short, old_enough))


def places_left(slot: SlotFacts) -> int:
    """Places nobody has; none while the slot is shut or not known."""
    if slot.places is None or slot.taken is None or slot.open is not True:
        return 0
    return max(0, slot.places - slot.taken)


def judge_measure(kind: Measure, value: float, limits: Limits) -> Judgement:
    """Judge a complete typed size: impossible is refused with its range, unusual can be saved."""
    name, lowest, highest, low, high = _MEASURES[kind]
    bottom = 0.0 if lowest is None else limits[lowest].number
    top = limits[highest].number
    unit = limits[highest].unit
    if bottom is None or top is None or not bottom <= value <= top:
        rule = lowest if lowest is not None and bottom is not None and value < bottom else highest
        edges = "its limits" if bottom is None or top is None else f"{bottom:g} and {top:g} {unit}"
        return Judgement(Level.IMPOSSIBLE, f"{name} must be between {edges}.", rule.key)
    for limit, outside in ((low, _below(value, low, limits)), (high, _above(value, high, limits))):
        if limit is not None and outside:
            return Judgement(Level.UNUSUAL, f"Unusual. Check the {kind}.", limit.key)
    return Judgement(Level.FINE)


def _places(people: int, slot: SlotFacts) -> Decision:
    left = places_left(slot)
    count = "1 place" if left == 1 else f"{left} places"
    return must(
        L.PLACES_LEFT,
        people <= left,
        f"{slot.label} has {count} left. Choose another time or a smaller group.",
        found=str(people),
        needed=f"at most {left}",
        who=slot.label,
    )


def _in_time(slot: SlotFacts, now: datetime, limits: Limits, *, at_the_counter: bool) -> Decision:
    ahead = (slot.start - now) / timedelta(minutes=1)
    text = f"Booking for {slot.label} is over. Choose a later time."
    if at_the_counter:
        return must(
            L.BOOKING_CLOSES_BEFORE,
            ahead >= 0,
            text,
            found="started",
            needed="not started yet",
            who=slot.label,
        )
    return within(limits[L.BOOKING_CLOSES_BEFORE], ahead, unknown=text, broken=text, who=slot.label)


def _below(value: float, limit: Limit | None, limits: Limits) -> bool:
    edge = None if limit is None else limits[limit].number
    return edge is not None and value < edge


def _above(value: float, limit: Limit | None, limits: Limits) -> bool:
    edge = None if limit is None else limits[limit].number
    return edge is not None and value > edge
