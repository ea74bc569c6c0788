"""Days as people type them into a search: "24 Nov", "2026-11-24", "24.11.", "today"."""

import re
from calendar import isleap
from datetime import date, timedelta

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_FULL = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_WORDS = "|".join(sorted((*_FULL, *_MONTHS, "sept"), key=len, reverse=True))
_ISO = re.compile(r"(?<!\d)(\d{4})-(\d{1,2})-(\d{1,2})(?!\d)")
_NUMBERS = re.compile(r"(?<!\d)(\d{1,2})[./](\d{1,2})[./]?(\d{4})?(?!\d)")
_DAY_FIRST = re.compile(rf"(?<!\w)(\d{{1,2}})(?:st|nd|rd|th)?\.?\s+({_WORDS})\.?(?:,?\s+(\d{{4}}))?(?!\w)")
_MONTH_FIRST = re.compile(rf"(?<!\w)({_WORDS})\.?\s+(\d{{1,2}})(?:st|nd|rd|th)?(?:,?\s+(\d{{4}}))?(?!\w)")
_NEAR = {"today": 0, "yesterday": -1, "tomorrow": 1}
_YEARS_TO_LEAP = 8


def said_day(asked: str, today: date) -> tuple[date | None, str]:
    """Return the day that words name, if they name one, and the other words.

    Day and month come in that order. Without a year the day nearest to today is meant: what is looked for
    was lately, or will be soon.
    """
    text = asked.casefold()
    for pattern, order in ((_ISO, "ymd"), (_DAY_FIRST, "dmy"), (_MONTH_FIRST, "mdy"), (_NUMBERS, "dmy")):
        found = pattern.search(text)
        if found is None:
            continue
        parts = dict(zip(order, found.groups(), strict=True))
        day = _day(parts["y"], parts["m"], parts["d"], today)
        if day is not None:
            return day, f"{text[: found.start()]} {text[found.end() :]}".strip()
    for word, days in _NEAR.items():
        if word in text.split():
            rest = " ".join(one for one in text.split() if one != word)
            return today + timedelta(days=days), rest
    return None, asked


def _day(year: str | None, month: str, day: str, today: date) -> date | None:
    number = int(month) if month.isdecimal() else _MONTHS.index(month[:3]) + 1
    try:
        if year is not None:
            return date(int(year), number, int(day))
        return _nearest(number, int(day), today)
    except ValueError:
        return None


def _nearest(month: int, day: int, today: date) -> date:
    """Return the day and month nearest to today; raises ValueError for one that no year has."""
    date(_leap_after(today.year), month, day)
    around = []
    for year in range(today.year - _YEARS_TO_LEAP, today.year + _YEARS_TO_LEAP + 1):
        try:
            around.append(date(year, month, day))
        except ValueError:
            continue
    return min(around, key=lambda one: abs((one - today).days))


def _leap_after(year: int) -> int:
    return next(one for one in range(year, year + _YEARS_TO_LEAP + 1) if isleap(one))
