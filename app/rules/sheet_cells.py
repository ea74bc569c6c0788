"""Reading one cell of a sheet: numbers with commas or points and units, dates, words. Nothing is guessed."""

import re
import unicodedata
from collections.abc import Collection
from datetime import date, timedelta

from app.planning.units import unit_typed

# Overrides of writing direction hide what a text says.
_DIRECTION = frozenset({0x202A, 0x202B, 0x202C, 0x202D, 0x202E, 0x2066, 0x2067, 0x2068, 0x2069})
_NUMBER = re.compile(r"^([+-]?\d{1,6}(?:[.,]\d{1,9})?)\s*([^\W\d_].{0,11})?$")
_ISO = re.compile(r"^(\d{4})-(\d{1,2})(?:-(\d{1,2}))?(?:[T ]00:00(?::00(?:\.0+)?)?)?$")
_DOTS = re.compile(r"^(\d{1,2})[. ](\d{1,2})[. ](\d{4})$")
_MONTH = re.compile(r"^(\d{1,2})/(\d{4})$")
# Day 60 of a sheet's calendar is a 29 February 1900 that never was; behind it, days count from here.
_SHEET_DAY_0 = date(1899, 12, 30)
_SERIAL = re.compile(r"^(\d{5})(?:[.,]0+)?$")
# A quote mark in front keeps a program from taking a text for a formula; our own exports write it.
_KEPT_AS_TEXT = re.compile(r"^'(?=[=+\-@\t\r])")
FIRST_DAY, LAST_DAY = date(1960, 1, 1), date(2100, 12, 31)
DECIMALS = 1


class BadCell(ValueError):
    """A cell that cannot be taken; the text says what to write instead."""


def clean_cell(said: str) -> str:
    """Return a cell's text without the spaces around it; raises BadCell for signs that cannot be seen."""
    text = _KEPT_AS_TEXT.sub("", unicodedata.normalize("NFC", said).strip()).replace("\u00a0", " ")
    if any(
        ord(letter) in _DIRECTION or unicodedata.category(letter) in ("Cc", "Cs") or letter == "\ufffd"
        for letter in text
    ):
        raise BadCell("Remove hidden control characters and line breaks.")
    return text


def words_in(text: str, most: int) -> str:
    """Return words of at most so many letters."""
    if len(text) > most:
        raise BadCell(f"Shorten it to {most} letters.")
    return text


def number_in(text: str, low: float, high: float, unit: str) -> float:
    """Return a number in ``unit`` within its possible range; 11,1 and 11.1 are the same, psi become bar."""
    match = _NUMBER.match(text)
    said = (match.group(2) or "").strip() if match else ""
    if match is None:
        raise BadCell(f"Write a number in {unit}, for example {(low + high) / 2:g}.")
    number = float(match.group(1).replace(",", "."))
    if said and said.casefold() != unit.casefold():
        other = unit_typed(said, unit) if unit == "bar" else None
        if other is None:
            raise BadCell(f"Write it in {unit}, not in {said}.")
        number = round(other.kept(number), DECIMALS)
    if not low <= number <= high:
        raise BadCell(f"Write a number between {low:g} and {high:g} {unit}.")
    return number


def whole_in(text: str, low: int, high: int, unit: str) -> int:
    """Return a whole number within its possible range."""
    number = number_in(text, low, high, unit)
    if number != int(number):
        raise BadCell("Write a whole number.")
    return int(number)


def date_in(text: str, latest: date = LAST_DAY) -> date:
    """Return a day: 2026-03-04, 4.3.2026, a sheet's own day number, or a month alone (its first day)."""
    day = _day(text)
    if day is None:
        raise BadCell("Write the day as 2026-03-04 (year, month, day).")
    if not FIRST_DAY <= day <= latest:
        raise BadCell(f"Write a day between {FIRST_DAY.isoformat()} and {latest.isoformat()}.")
    return day


def choice_in(text: str, options: Collection[str], more: dict[str, str] | None = None) -> str:
    """Return one of the options, in whatever letters it was written; ``more``: other words for them."""
    said = text.casefold()
    for option in options:
        if option.casefold() == said:
            return option
    if more and said in more:
        return more[said]
    raise BadCell(f"Write one of: {', '.join(options)}.")


def _day(text: str) -> date | None:
    try:
        if match := _ISO.match(text):
            return date(int(match.group(1)), int(match.group(2)), int(match.group(3) or 1))
        if match := _DOTS.match(text):
            return date(int(match.group(3)), int(match.group(2)), int(match.group(1)))
        if match := _MONTH.match(text):
            return date(int(match.group(2)), int(match.group(1)), 1)
        if match := _SERIAL.match(text):
            return _SHEET_DAY_0 + timedelta(days=int(match.group(1)))
    except ValueError:
        return None
    return None
