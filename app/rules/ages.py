"""Caps by age: how deep, how long, where and how many together. A group takes its strictest member's row.

The numbers are limits; which limit belongs to which age is the table below. Caps for minors are common
practice on the cautious side, chosen where published practice differs from country to country.
"""

from dataclasses import dataclass
from datetime import date

from app.rules import limits as L
from app.rules.decision import ALLOWED, Decision
from app.rules.limits import Limit, Value
from app.rules.measure import must, within
from app.rules.people import GuardianPlace, GuestFacts, Where
from app.rules.resolve import Kind, Limits, Source


@dataclass(frozen=True, slots=True)
class Band:
    """One row of the age table. youngest, oldest: whole years, both included."""

    youngest: int
    oldest: int
    depth: Limit
    ratio: Limit
    minutes: Limit
    guardian: GuardianPlace | None


BANDS: tuple[Band, ...] = (
    Band(8, 9, L.DEPTH_MAX_AGE_8_9, L.RATIO_WITH_MINOR_8_9, L.MINUTES_MAX_AGE_8_9, GuardianPlace.POOLSIDE),
    Band(
        10,
        11,
        L.DEPTH_MAX_AGE_10_11,
        L.RATIO_WITH_MINOR_10_11,
        L.MINUTES_MAX_AGE_10_11,
        GuardianPlace.ON_SITE,
    ),
    Band(12, 14, L.DEPTH_MAX_AGE_12_14, L.RATIO_WITH_MINOR_12_17, L.BOTTOM_TIME_MAX, GuardianPlace.BY_PHONE),
    Band(15, 17, L.DEPTH_MAX_AGE_15_17, L.RATIO_WITH_MINOR_12_17, L.BOTTOM_TIME_MAX, None),
)

_RATIO_KEYS = (
    L.RATIO_CONFINED.key,
    L.RATIO_OPEN_WATER_GOOD.key,
    L.RATIO_OPEN_WATER_FAIR.key,
    L.RATIO_OPEN_WATER_POOR.key,
)
_GUARDIAN_ORDER = (GuardianPlace.BY_PHONE, GuardianPlace.ON_SITE, GuardianPlace.POOLSIDE)


def age_on(birth: date, day: date) -> int:
    """Age in whole years on a day. Somebody born on 29 February has the birthday on 1 March."""
    return day.year - birth.year - ((day.month, day.day) < (birth.month, birth.day))


def band_of(age: int) -> Band | None:
    """The row for an age in whole years; None for adults and for children under the table."""
    return next((band for band in BANDS if band.youngest <= age <= band.oldest), None)


def source_of(age: int | None, limits: Limits) -> Source:
    """What a guest's age asks for, read from the limits resolved so far.

    An unknown age and an age under the table leave depth, time and ratio without a value.
    """
    if age is not None and age > BANDS[-1].oldest:
        return Source(Kind.AGE, f"guest's age {age}", {})
    band = None if age is None else band_of(age)
    values: dict[str, Value | None] = dict.fromkeys(
        (L.DEPTH_MAX_OPEN_WATER.key, L.DEPTH_MAX_CONFINED.key, L.BOTTOM_TIME_MAX.key, *_RATIO_KEYS)
    )
    if band is not None:
        depth, ratio = limits[band.depth].value, limits[band.ratio].value
        values[L.DEPTH_MAX_OPEN_WATER.key] = values[L.DEPTH_MAX_CONFINED.key] = depth
        values[L.BOTTOM_TIME_MAX.key] = limits[band.minutes].value
        values |= dict.fromkeys(_RATIO_KEYS, ratio)
    values[L.ASSISTANT_BONUS.key] = 0
    return Source(Kind.AGE, "guest's age not known" if age is None else f"guest's age {age}", values)


def is_minor(age: int | None, limits: Limits) -> bool:
    """Whether a guardian signs: under the age of majority, or age or law not known."""
    majority = limits[L.MAJORITY_AGE].number
    return age is None or majority is None or age < majority


def may_dive_at_age(guest: GuestFacts, where: Where, limits: Limits) -> Decision:
    """Is the guest old enough for this water?"""
    pool = where == "confined"
    limit = limits[L.AGE_MIN_POOL if pool else L.AGE_MIN_OPEN_WATER]
    water = "the pool" if pool else "open water"
    return within(
        limit,
        guest.age,
        unknown=f"{guest.name}'s age is not known. Enter the date of birth.",
        broken=f"{guest.name} is too young for {water}. Move {guest.name} out of this group.",
        who=guest.name,
    )


def guardian_is_near(guest: GuestFacts) -> Decision:
    """Is a child's guardian at least as near as the age asks for? Age unknown is refused elsewhere."""
    band = None if guest.age is None else band_of(guest.age)
    if band is None or band.guardian is None:
        return ALLOWED
    place = guest.guardian_place
    return must(
        L.GUARDIAN_NEAR,
        place is not None and _GUARDIAN_ORDER.index(place) >= _GUARDIAN_ORDER.index(band.guardian),
        f"{guest.name}'s guardian must be near ({band.guardian}). Ask and enter where the guardian is.",
        found="not known" if place is None else str(place),
        needed=str(band.guardian),
        who=guest.name,
    )
