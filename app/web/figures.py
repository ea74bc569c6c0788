"""Figures as a page shows them: in the reader's unit, with the kept figure beside it where they differ.

A page is handed ``bar``, ``metres``, ``degrees``, ``kilos`` and ``litres``: each takes a kept figure and says
it with its unit. ``spoken`` does the same for the figures in a sentence of the rules, ``box`` for what
stands in a form.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite
from typing import Any

from markupsafe import Markup, escape

from app.planning.units import UNITS, Units, Way

Number = float | int | str | None
NOT_KNOWN = "not known"
# "at least 180 bar", "between 1 and 300 bar", "9 m/min", "9 m a minute": a sentence of the rules.
IN_SENTENCE = re.compile(
    r"(?P<before>at least |at most |between |reserve of |reserve is |need |turn )?"
    r"(?P<first>-?\d+(?:\.\d+)?)"
    r"(?:(?P<word> and | to | then | or )(?P<second>-?\d+(?:\.\d+)?))?"
    r" (?P<unit>bar|m|°C|kg|L)(?P<per>/min| a minute)?(?![\w/³²°])"
)
LONG = re.compile(r"-?\d+\.\d{2,}")
LONG_WHOLE = re.compile(r"(?<![\d.])\d{5,}")
# A narrow space at which no line breaks.
THIN = "\N{NARROW NO-BREAK SPACE}"
CAREFUL = {
    "at least ": Way.UP, "at most ": Way.DOWN, "reserve of ": Way.UP, "reserve is ": Way.UP, "need ": Way.UP,
    "turn ": Way.UP,
}  # fmt: skip


@dataclass(frozen=True)
class Figure:
    """A number with its unit; ``other`` is the kept figure when the reader chose another unit."""

    number: str
    unit: str
    other: str = ""

    def __str__(self) -> str:
        """Return it as plain words, for attributes and hints."""
        said = f"{self.number} {self.unit}".rstrip()
        return f"{said} ({self.other})" if self.other else said

    def __html__(self) -> str:
        """Return it for a page: the kept figure in smaller type."""
        said = escape(f"{self.number} {self.unit}".rstrip())
        return Markup("{} <small>({})</small>").format(said, self.other) if self.other else said


@dataclass(frozen=True)
class Box:
    """A form's box: the unit beside it, the text in it, and the mark by which the form is read again."""

    unit: str
    text: str
    mark: str


@dataclass(frozen=True)
class Figures:
    """Says kept figures to one reader."""

    units: Units

    def names(self) -> dict[str, Callable[..., Any]]:
        """Return what every page is given, by name."""
        return {
            "bar": self.bar,
            "metres": self.metres,
            "degrees": self.degrees,
            "kilos": self.kilos,
            "litres": self.litres,
            "spoken": self.spoken,
            "box": self.box,
            "as_read": self.as_read,
        }

    def bar(self, value: Number, way: str = Way.DOWN, *, fine: bool = False) -> Figure:
        """Say a gauge pressure in bar. Down for what a cylinder holds, "up" for a turn, a reserve, a need."""
        return self._say(value, "bar", way, fine=fine)

    def metres(self, value: Number, way: str = Way.DOWN, *, per: str = "", fine: bool = False) -> Figure:
        """Say a depth or length in m, with per="min" a speed. Down for a plan or a limit, "up" for a dive."""
        # Records of a depth typed in ft are a hair beside the metre: that hair is not shown.
        return self._say(value, "m", way, per=per, fine=fine, metric_way=Way.NEAR)

    def degrees(self, value: Number) -> Figure:
        """Say a temperature in °C."""
        return self._say(value, "°C", Way.NEAR)

    def kilos(self, value: Number, way: str = Way.NEAR) -> Figure:
        """Say a mass in kg."""
        return self._say(value, "kg", way)

    def litres(self, value: Number, way: str = Way.UP, *, per: str = "", fine: bool = False) -> Figure:
        """Say an amount of gas in L, with per="min" a breathing rate. Cylinders stay in litres of water."""
        said = self._say(value, "L", way, per=per, fine=fine)
        return Figure(grouped(said.number), said.unit, grouped(said.other))

    def as_read(self, row: Any) -> Figure:
        """Say a stored reading (``bar``, ``read_value``, ``read_unit``): as read, and in the other unit."""
        mine = self.units.of_base("bar")
        if row.read_unit == mine.name:
            other = "" if mine.name == "bar" else _plain(UNITS["bar"].rounded(row.bar, Way.DOWN)) + " bar"
            return Figure(_plain(row.read_value), row.read_unit, other)
        other = f"{_plain(row.read_value)} {row.read_unit}"
        return Figure(_plain(mine.rounded(row.bar, Way.DOWN)), mine.name, other)

    def spoken(self, text: object) -> str:
        """Return a sentence of ours with every figure in the reader's unit and the kept one behind it."""
        said = str(text)
        if any(f" {name} (" in said for name in self.units.other):
            return said
        return IN_SENTENCE.sub(self._respeak, said)

    def box(self, name: str, value: Number, base: str, read: Any = None, in_form: object = True) -> Box:
        """Return how a form's box shows a kept figure; ``read``: the stored reading it comes from, if any.

        in_form: false where the mark would not be sent along; the box then stays in the kept unit.
        """
        unit = self.units.of_base(base) if in_form else UNITS[base]
        kept = _float(value)
        if kept is None:
            return Box(unit.name, "", "" if unit.name == base else f"{name}={unit.name}")
        step = 1.0 if unit.name == "psi" else 0.1
        text = _plain(unit.rounded(kept, Way.NEAR, step))
        if read is not None and read.read_unit == unit.name:
            text = _plain(read.read_value)
        if unit.name == base and (float(text) == kept or not in_form):
            return Box(unit.name, text, "")
        return Box(unit.name, text, f"{name}={unit.name}:{text}:{kept:.12g}")

    def _say(
        self, value: Number, base: str, way: str, *, per: str = "", fine: bool = False, metric_way: str = ""
    ) -> Figure:
        kept = _float(value)
        if kept is None:
            return Figure(NOT_KNOWN, "")
        mine, metric = self.units.of_base(base), UNITS[base]
        after = f"/{per}" if per else ""
        # A breath is small: a tenth of a litre, a hundredth of a cubic foot.
        scale = 0.1 if fine or (per and base == "L") else 1.0
        first = mine.rounded(kept, Way(metric_way or way if mine is metric else way), mine.step * scale)
        if mine is metric:
            return Figure(_plain(first), f"{base}{after}")
        beside = metric.rounded(kept, Way(metric_way or way), metric.step * scale)
        return Figure(_plain(first), f"{mine.name}{after}", f"{_plain(beside)} {base}{after}")

    def _respeak(self, found: re.Match[str]) -> str:
        base, before = found["unit"], found["before"] or ""
        mine = self.units.of_base(base)
        if mine.name == base:
            # What was read in another unit is kept to many digits; nobody reads them.
            return LONG.sub(lambda digits: _plain(round(float(digits[0]), 1)), found[0])
        ways = (Way.UP, Way.DOWN) if before == "between " else (CAREFUL.get(before, Way.NEAR),) * 2
        first = _plain(mine.rounded(float(found["first"]), ways[0]))
        per = found["per"] or ""
        kept = f"{found['first']}{found['word'] or ''}{found['second'] or ''} {base}{per}"
        second = "" if found["second"] is None else _plain(mine.rounded(float(found["second"]), ways[1]))
        return f"{before}{first}{found['word'] or ''}{second} {mine.name}{per} ({kept})"


def grouped(text: str) -> str:
    """Set the digits of long numbers apart by threes, "68 093"; four digits stay together."""
    return LONG_WHOLE.sub(lambda found: f"{int(found[0]):,}".replace(",", THIN), text)


def _float(value: Number) -> float | None:
    """Return a figure; None for an empty or unreadable one."""
    try:
        number = float(value) if value not in (None, "") else None
    except ValueError:
        return None
    return number if number is not None and isfinite(number) else None


def _plain(number: float) -> str:
    """Say a number without an exponent or needless zeros."""
    return f"{number + 0.0:.10g}"
