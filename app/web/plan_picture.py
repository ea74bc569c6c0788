"""The picture of a plan, made on the server: depth above, each diver's pressure below, one time line.

Shape before colour: lines differ by dashes and carry their diver's name at the end. The stylesheet gives
ink and line, so that it works in the dark and on paper. Text is 16 units in a picture 360 units wide:
at least 14 px on the narrowest phone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from xml.etree.ElementTree import Element, SubElement, tostring

from markupsafe import Markup

WIDTH, HEIGHT = 360, 470
LEFT, RIGHT = 44, 230
DEPTH_TOP, DEPTH_BOTTOM = 34, 150
GAUGE_TOP, GAUGE_BOTTOM = 210, 425
LINE_HEIGHT = 18
LONGEST_NAME = 8
DASHES = ("", "9 5", "2 5", "12 4 2 4", "5 3", "1 4 6 4")


@dataclass(frozen=True)
class _Scale:
    """A straight scale from values to places on the picture."""

    first: float
    last: float
    begin: float
    end: float

    def at(self, value: float) -> float:
        """Return the place of a value."""
        return self.begin + (value - self.first) / (self.last - self.first) * (self.end - self.begin)


def picture(answer: Mapping[str, Any], turn_bar: float) -> Markup:
    """Return the picture of a worked-out plan (the answer as it is kept with a plan)."""
    curve: Sequence[Mapping[str, Any]] = answer["curve"]
    divers: Sequence[Mapping[str, Any]] = answer["divers"]
    reserve = max(one["reserve_in_force_bar"] for one in divers)
    time = _Scale(0, curve[-1]["minute"], LEFT, RIGHT)
    deepest = max(point["depth_m"] for point in curve)
    fullest = max(max(point["gauges_bar"]) for point in curve)
    lowest = min(0.0, *(min(point["gauges_bar"]) for point in curve))
    depth = _Scale(0, deepest, DEPTH_TOP, DEPTH_BOTTOM)
    gauge = _Scale(lowest, fullest, GAUGE_BOTTOM, GAUGE_TOP)
    seen_as = {"viewBox": f"0 0 {WIDTH} {HEIGHT}", "role": "img"}
    svg = Element("svg", {**seen_as, "aria-labelledby": "picture-title picture-text"})
    SubElement(svg, "title", id="picture-title").text = "Depth and pressure over the dive"
    SubElement(svg, "desc", id="picture-text").text = _words(answer, turn_bar, reserve)
    _text(svg, 4, DEPTH_TOP - 16, "Depth in m")
    _text(svg, 4, GAUGE_TOP - 16, "Pressure in bar, cautious rate")
    for metres in (0.0, deepest):
        _line(svg, LEFT, depth.at(metres), RIGHT, depth.at(metres), "stroke grid")
        _text(svg, LEFT - 6, depth.at(metres) + 5, f"{metres:g}", "end")
    points = [(time.at(point["minute"]), depth.at(point["depth_m"])) for point in curve]
    _polyline(svg, points, "")
    for bar, name in ((turn_bar, "turn"), (reserve, "reserve")):
        _line(svg, LEFT, gauge.at(bar), RIGHT, gauge.at(bar), "stroke limit")
        _text(svg, LEFT - 6, gauge.at(bar) + 5, f"{bar:.0f}", "end")
        _text(svg, LEFT + 4, gauge.at(bar) + LINE_HEIGHT - 3, name)
    _text(svg, LEFT - 6, gauge.at(fullest) + 5, f"{fullest:.0f}", "end")
    _line(svg, LEFT, GAUGE_BOTTOM, RIGHT, GAUGE_BOTTOM, "stroke grid")
    for minute in _ticks(curve[-1]["minute"]):
        _text(svg, time.at(minute), GAUGE_BOTTOM + 20, f"{minute:g}", "middle")
    _text(svg, RIGHT + 10, GAUGE_BOTTOM + 20, "min")
    for number in range(len(divers)):
        points = [(time.at(point["minute"]), gauge.at(point["gauges_bar"][number])) for point in curve]
        _polyline(svg, points, DASHES[number % len(DASHES)])
    ends = [gauge.at(curve[-1]["gauges_bar"][number]) for number in range(len(divers))]
    for number, place in enumerate(_apart(ends)):
        bar = int(curve[-1]["gauges_bar"][number])
        _line(svg, RIGHT + 2, ends[number], RIGHT + 10, place, "stroke grid")
        _text(svg, RIGHT + 12, place + 5, f"{_short(divers[number]['name'])} {bar}")
    return Markup(tostring(svg, encoding="unicode"))  # noqa: S704 - built and escaped by ElementTree


def _words(answer: Mapping[str, Any], turn_bar: float, reserve: float) -> str:
    ends = ", ".join(f"{one['name']} {int(one['end_gauge_bar'])} bar" for one in answer["divers"])
    return (
        f"The way up begins at minute {answer['ascent_starts_min']:g}, the surface is reached at minute "
        f"{answer['run_min']:.0f}. Back at the surface: {ends}. Turn {turn_bar:.0f} bar, reserve "
        f"{reserve:.0f} bar. The same figures stand in the table below."
    )


def _apart(places: Sequence[float]) -> list[float]:
    """Return places for labels, moved so that none covers another, keeping their order."""
    order = sorted(range(len(places)), key=lambda number: places[number])
    moved = list(places)
    lowest = GAUGE_BOTTOM - 4.0
    for number in reversed(order):
        moved[number] = min(places[number], lowest)
        lowest = moved[number] - LINE_HEIGHT
    return moved


def _ticks(last: float) -> list[float]:
    step = 5 if last <= 25 else 10  # noqa: PLR2004 - more ticks than five would touch each other
    return [float(minute) for minute in range(0, int(last) + 1, step)]


def _short(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"


def _text(svg: Element, x: float, y: float, words: str, anchor: str = "start") -> None:
    SubElement(svg, "text", {"x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor}).text = words


def _line(svg: Element, x1: float, y1: float, x2: float, y2: float, kind: str) -> None:
    ends = {"x1": f"{x1:.1f}", "y1": f"{y1:.1f}", "x2": f"{x2:.1f}", "y2": f"{y2:.1f}"}
    SubElement(svg, "line", {**ends, "class": kind})


def _polyline(svg: Element, points: Sequence[tuple[float, float]], dashes: str) -> None:
    drawn = {"class": "stroke", "points": " ".join(f"{x:.1f},{y:.1f}" for x, y in points)}
    SubElement(svg, "polyline", {**drawn, "stroke-dasharray": dashes} if dashes else drawn)
