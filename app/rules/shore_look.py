"""The instructor's look at every guest, every day, on shore: it can only make the result stricter.

A point that is not in order keeps the guest ashore until a named instructor has looked again; a smell of
alcohol stands for the day. The points are common practice, no source; that people dive impaired by what
a look would have shown is from memory of fatality reports.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from app.rules import limits as L
from app.rules.decision import Decision
from app.rules.measure import must
from app.rules.people import GuestFacts, ShoreLook


@dataclass(frozen=True, slots=True)
class Point:
    """One thing to look at, as it should be. stands: a no is not looked at again that day."""

    key: str
    words: str
    stands: bool = False


_ROWS = (
    Point("ears", "Both ears pop"),
    Point("breathing", "Breathes easily at rest"),
    Point("steady", "Walks steadily and speaks clearly"),
    Point("sober", "No smell of alcohol", stands=True),
    Point("calm", "Calm"),
    Point("suit", "Suit not tight at neck and chest"),
    Point("comfort", "Not cold, sunburnt or sick"),
    Point("signals", "Understands the hand signals"),
    Point("never_hold", "Says back: never hold your breath"),
)
POINTS: Mapping[str, Point] = MappingProxyType({point.key: point for point in _ROWS})
"""Every point by key, in the order in which one looks."""


def stands_for_day(not_in_order: Collection[str]) -> bool:
    """Return whether one of these points keeps the guest ashore for the whole day."""
    return any(POINTS[key].stands for key in not_in_order)


def look_that_counts(looks: Iterable[ShoreLook], day: date) -> ShoreLook | None:
    """Return the look that counts on ``day``: the last in the order given, or one that stands for the day.

    A look without a name or of another day counts as none.
    """
    of_day = [one for one in looks if one.by and one.on == day]
    standing = next((one for one in of_day if not one.well and one.final), None)
    return standing or (of_day[-1] if of_day else None)


def looked_at_on_shore(guest: GuestFacts, day: date) -> Decision:
    """Has a named instructor looked at this guest today, with every point in order?"""
    look = guest.look
    counts = look is not None and bool(look.by) and look.on == day
    well = counts and look is not None and look.well
    return must(
        L.SHORE_LOOK,
        well,
        f"{guest.name} stays ashore after the look on shore. Look again, or offer another day."
        if counts
        else f"Nobody looked at {guest.name} on shore today. Look at each point.",
        found="not in order" if counts else "not looked at today",
        needed="every point in order",
        who=guest.name,
    )
