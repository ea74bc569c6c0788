"""How long a guest's health record is kept: live, then sealed, then erased.

Live until some days after the dive day; sealed while somebody may still sue for an injury; erased after
that. Nobody who never dived is kept longer than the live days. A legal hold stops erasing, nothing else does.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from types import MappingProxyType

from app.rules.ages import age_on

MONTHS_A_YEAR = 12
LAST_DAYS = (31, 30, 29, 28)


class Stage(StrEnum):
    """Where a health record is."""

    LIVE = "live"
    SEALED = "sealed"
    ERASED = "erased"


@dataclass(frozen=True, slots=True)
class Keeping:
    """How long a sealed record is kept after a dive.

    adult_months: after the dive. minor_age, minor_months: until that birthday and these months more.
    floor_months: no shop there may keep it for less. source: where the times come from.
    """

    key: str
    name: str
    adult_months: int
    minor_age: int
    minor_months: int
    floor_months: int
    source: str


@dataclass(frozen=True, slots=True)
class Kept:
    """What decides about one guest's record.

    day: of the booked slot. dived: whether the guest was ever in the water. sealed, erased: already done.
    asked: the guest asked for erasure. held: a legal hold stands. majority_age in whole years.
    """

    day: date
    dived: bool
    birth_date: date
    majority_age: float
    sealed: bool = False
    erased: bool = False
    asked: bool = False
    held: bool = False

    def is_minor(self, day: date) -> bool:
        """Whether the guest is under age on a day."""
        return age_on(self.birth_date, day) < self.majority_age


_CHECK = "an older European overview of the time to sue for an injury; check the law of today"


def _sue(key: str, name: str, years: int) -> Keeping:
    """A starting point: the years to sue, half a year for papers on the way; a child's years begin at 18."""
    return Keeping(key, name, years * MONTHS_A_YEAR + 6, max(18 + years, GENERAL.minor_age), 6, 0, _CHECK)


GENERAL = Keeping(
    "general",
    "general",
    42,
    21,
    6,
    0,
    "England and Wales, Limitation Act 1980, sections 11 and 28 (3 years, a child from 18), and half a year",
)
QUEENSLAND = Keeping(
    "queensland",
    "Queensland",
    42,
    21,
    6,
    12,
    "Queensland Safety in Recreational Water Activities Regulation 2024 (at least 1 year), from memory; "
    "3 years to sue and half a year",
)
COUNTRIES: Mapping[str, Keeping] = MappingProxyType(
    {
        one.key: one
        for one in (
            GENERAL,
            QUEENSLAND,
            _sue("spain", "Spain", 1),
            _sue("catalonia", "Catalonia", 2),
            _sue("italy", "Italy", 2),
            _sue("austria", "Austria", 3),
            _sue("finland", "Finland", 3),
            _sue("germany", "Germany", 3),
            _sue("portugal", "Portugal", 3),
            _sue("belgium", "Belgium", 5),
            _sue("denmark", "Denmark", 5),
            _sue("netherlands", "Netherlands", 5),
            _sue("france", "France", 10),
            _sue("luxembourg", "Luxembourg", 30),
        )
    }
)


def months_after(day: date, months: int) -> date:
    """Return the same day of the month some months later, or that month's last day when it is shorter."""
    count = day.year * MONTHS_A_YEAR + day.month - 1 + months
    year, month = divmod(count, MONTHS_A_YEAR)
    for last in (day.day, *LAST_DAYS):
        try:
            return date(year, month + 1, min(day.day, last))
        except ValueError:
            continue
    raise ValueError(f"no day in month {month + 1} of {year}")


def keep_until(kept: Kept, keeping: Keeping) -> date | None:
    """Return the last day that a sealed record is kept; None without a dive, when nothing is kept."""
    if not kept.dived:
        return None
    after = months_after(kept.day, max(keeping.adult_months, keeping.floor_months))
    if not kept.is_minor(kept.day):
        return after
    birthday = months_after(kept.birth_date, keeping.minor_age * MONTHS_A_YEAR)
    return max(after, months_after(birthday, keeping.minor_months))


def stage_on(kept: Kept, today: date, keeping: Keeping, live_days: int) -> Stage:
    """Return where a record belongs on a day. What is sealed is never live again, what is erased stays so."""
    if kept.erased:
        return Stage.ERASED
    day_over = today > kept.day + timedelta(days=live_days)
    if not (day_over or kept.sealed or kept.asked):
        return Stage.LIVE
    until = keep_until(kept, keeping)
    time_over = (day_over or kept.asked) if until is None else today > until
    return Stage.ERASED if time_over and not kept.held else Stage.SEALED


def too_short(keeping: Keeping) -> str:
    """Return why times for keeping cannot be set, in a sentence; empty when they can."""
    floor = COUNTRIES.get(keeping.key, GENERAL).floor_months
    if keeping.adult_months < floor:
        return f"In {keeping.name} records are kept at least {floor} months."
    return ""
