"""Reading pasted lines of earlier dives: one dive a line, every mistake said with its line.

Columns: date, body mass in kg, cylinder in L, start and end in bar, minutes, mean depth in m, and, where it
was written down, the water in °C. Between them commas, semicolons or tabs; with semicolons or tabs a comma
may stand for the decimal point. A first line of headings is passed over, empty lines too.
"""

import re
from dataclasses import dataclass
from datetime import date

from app.planning.breathing import LoggedDive
from app.records.plans.earlier_dives import EarlierDive
from app.records.plans.logged_dives import judged
from app.rules import limits as L
from app.rules.resolve import Limits

MOST_LINES = 1000
COLUMNS = ("date", "mass_kg", "litres", "start_bar", "end_bar", "minutes", "mean_depth_m", "water_temp_c")
_HIGHEST_BAR = float(str(L.GAUGE_HIGHEST.value))
# What can stand in each column after the date: what it is called, lowest, highest, unit.
_RANGES = (
    ("Body mass", 20.0, 250.0, "kg"),
    ("Cylinder size", 2.0, 24.0, "L"),
    ("Start pressure", 1.0, _HIGHEST_BAR, "bar"),
    ("End pressure", 0.0, _HIGHEST_BAR, "bar"),
    ("Minutes", 1.0, 180.0, "min"),
    ("Mean depth", 0.0, 40.0, "m"),
    ("Water temperature", -2.0, 40.0, "°C"),
)
_EARLIEST = date(1970, 1, 1)


@dataclass(frozen=True)
class Line:
    """One pasted line. dive None: it cannot be read, and why stands in ``wrong``."""

    number: int
    text: str
    dive: EarlierDive | None
    wrong: str = ""


def read_lines(text: str, today: date, limits: Limits) -> list[Line]:
    """Return the lines of a pasted text that hold something, each as a dive or with what is wrong."""
    found: list[Line] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.strip()
        if not line or (not found and _is_heading(line)):
            continue
        try:
            found.append(Line(number, line, _dive(line, today, limits)))
        except ValueError as wrong:
            found.append(Line(number, line, None, str(wrong)))
    return found


def _is_heading(line: str) -> bool:
    first = _cells(line)[0]
    return bool(first) and not any(letter.isdigit() for letter in first)


def _cells(line: str) -> list[str]:
    between = next((sign for sign in ("\t", ";") if sign in line), ",")
    return [cell.strip().strip('"') for cell in line.split(between)]


def _dive(line: str, today: date, limits: Limits) -> EarlierDive:
    """Return the dive of a line; raises ValueError with a plain sentence."""
    cells = _cells(line)
    least = len(COLUMNS) - 1
    if not least <= len(cells) <= len(COLUMNS):
        raise ValueError(
            f"This line has {len(cells)} columns; it needs {least}, or {len(COLUMNS)} with the water."
        )
    day = _day(cells[0], today)
    numbers = [_number(cell, *what) for cell, what in zip(cells[1:least], _RANGES, strict=False)]
    mass, litres, start, end, minutes, depth = numbers
    said = cells[least] if len(cells) > least else ""
    water = _number(said, *_RANGES[-1]) if said else None
    _, why = judged(LoggedDive(start, end, litres, minutes, depth, mass), limits)
    if why:
        raise ValueError(why)
    return EarlierDive(day, mass, litres, start, end, minutes, depth, water)


def _day(cell: str, today: date) -> date:
    try:
        day = date.fromisoformat(cell) if re.fullmatch(r"\d{4}-\d{2}-\d{2}", cell) else None
    except ValueError:
        day = None
    if day is None:
        raise ValueError("Write the date as year-month-day, for example 2024-07-15.")
    if not _EARLIEST <= day <= today:
        raise ValueError(f"The date must be between {_EARLIEST} and today.")
    return day


def _number(cell: str, what: str, low: float, high: float, unit: str) -> float:
    try:
        if not re.fullmatch(r"-?\d{1,4}([.,]\d{1,3})?", cell):
            raise ValueError
        number = float(cell.replace(",", "."))
    except ValueError:
        raise ValueError(f"{what} is not a number: write it in {unit}, without the unit.") from None
    if not low <= number <= high:
        raise ValueError(f"{what} must be between {low:g} and {high:g} {unit}.")
    return number
