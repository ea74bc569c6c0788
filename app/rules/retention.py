"""Until when a record of a dive, a fill or an incident is kept."""

from datetime import date

from app.rules import limits as L
from app.rules.cylinders import add_months
from app.rules.resolve import Limits

_MONTHS_IN_A_YEAR = 12


def keep_until(written: date, birth_dates: tuple[date, ...], limits: Limits) -> date | None:
    """The last day a record is kept; the latest that any rule asks for. None: for ever, no period is set.

    birth_dates: of the guests in the record; a minor's record is kept past majority.
    """
    years = limits[L.RETENTION_DEFAULT].number
    majority = limits[L.MAJORITY_AGE].number
    after = limits[L.RETENTION_MINOR_AFTER_MAJORITY].number
    if years is None or majority is None or after is None:
        return None
    ends = [_years_on(written, years)]
    for birth in birth_dates:
        if _years_on(birth, majority) > written:
            ends.append(_years_on(birth, majority + after))
    return max(ends)


def _years_on(day: date, years: float) -> date:
    return add_months(day, int(years * _MONTHS_IN_A_YEAR))
