"""The picture of a plan, made on the server: depth above, each diver's pressure below, one time line.

Who turns first has the thick whole line, with the turn marked on it. Shape before colour: the other lines
differ by dashes, and each carries its diver's name at the end. The stylesheet gives ink and line, so that it
works in the dark and on paper. Text is 16 units in a picture 360 units wide: at least 14 px on the narrowest
phone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from xml.etree.ElementTree import Element, SubElement, tostring

from markupsafe import Markup

from app.planning.units import METRIC, Units, Way

WIDTH, HEIGHT = 360, 470
LEFT, RIGHT = 44, 226
DEPTH_TOP, DEPTH_BOTTOM = 34, 150
GAUGE_TOP, GAUGE_BOTTOM = 210, 425
LINE_HEIGHT = 18
LONGEST_NAME = 7
DASHES = ("9 5", "2 5", "12 4 2 4", "5 3", "1 4 6 4", "16 5")


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


def picture(answer: Mapping[str, Any], turn_bar: float, units: Units = METRIC) -> Markup:
    """Return the picture of a worked-out plan (the answer as kept with a plan), in the reader's units."""
    curve: Sequence[Mapping[str, Any]] = answer["curve"]
    divers: Sequence[Mapping[str, Any]] = answer["divers"]
    first = next((n for n, one in enumerate(divers) if one["id"] == answer["first_to_turn"]), 0)
    reserve = float(divers[first]["reserve_in_force_bar"])
    deepest = max(point["depth_m"] for point in curve)
    fullest = max(max(point["gauges_bar"]) for point in curve)
    lowest = min(0.0, *(min(point["gauges_bar"]) for point in curve))
    time = _Scale(0, curve[-1]["minute"], LEFT, RIGHT)
    depth = _Scale(0, deepest, DEPTH_TOP, DEPTH_BOTTOM)
    gauge = _Scale(lowest, fullest, GAUGE_BOTTOM, GAUGE_TOP)
    seen_as = {"viewBox": f"0 0 {WIDTH} {HEIGHT}", "role": "img"}
    svg = Element("svg", {**seen_as, "aria-labelledby": "picture-title picture-text"})
    SubElement(svg, "title", id="picture-title").text = "Depth and pressure over the dive"
    SubElement(svg, "desc", id="picture-text").text = _words(answer, turn_bar, reserve, units)
    metre, bar = units.of_base("m"), units.of_base("bar")
    _text(svg, 4, DEPTH_TOP - 16, f"Depth in {metre.name}")
    _text(svg, 4, GAUGE_TOP - 16, f"Pressure in {bar.name}, cautious rate")
    for metres in (0.0, deepest):
        _line(svg, LEFT, depth.at(metres), RIGHT, depth.at(metres), "stroke grid")
        _text(svg, LEFT - 6, depth.at(metres) + 5, f"{metre.rounded(metres, Way.DOWN):g}", "end")
    _polyline(svg, [(time.at(point["minute"]), depth.at(point["depth_m"])) for point in curve], "")
    for value, name in ((turn_bar, "turn"), (reserve, "reserve")):
        _line(svg, LEFT, gauge.at(value), RIGHT, gauge.at(value), "stroke limit")
        _text(svg, LEFT - 6, gauge.at(value) + 5, f"{bar.rounded(value, Way.UP):g}", "end")
        _text(svg, LEFT + 4, gauge.at(value) + LINE_HEIGHT - 3, name)
    _text(svg, LEFT - 6, gauge.at(fullest) + 5, f"{bar.rounded(fullest, Way.DOWN):g}", "end")
    _line(svg, LEFT, GAUGE_BOTTOM, RIGHT, GAUGE_BOTTOM, "stroke grid")
    for minute in _ticks(curve[-1]["minute"]):
        _text(svg, time.at(minute), GAUGE_BOTTOM + 20, f"{minute:g}", "middle")
    _text(svg, RIGHT + 10, GAUGE_BOTTOM + 20, "min")
    others = 0
    for number in range(len(divers)):
        points = [(time.at(point["minute"]), gauge.at(point["gauges_bar"][number])) for point in curve]
        _polyline(svg, points, "" if number == first else DASHES[others % len(DASHES)], first=number == first)
        others += number != first
    turns_at = answer["divers"][first].get("minutes_to_turn_on_profile")
    if turns_at is not None:
        place = {"cx": f"{time.at(turns_at):.1f}", "cy": f"{gauge.at(turn_bar):.1f}", "r": "6"}
        SubElement(svg, "circle", {**place, "class": "turns"})
    ends = [gauge.at(curve[-1]["gauges_bar"][number]) for number in range(len(divers))]
    for number, spot in enumerate(_apart(ends)):
        left = bar.rounded(curve[-1]["gauges_bar"][number], Way.DOWN)
        _line(svg, RIGHT + 2, ends[number], RIGHT + 10, spot, "stroke grid")
        _text(svg, RIGHT + 12, spot + 5, f"{_short(divers[number]['name'])} {left:g}")
    return Markup(tostring(svg, encoding="unicode"))  # noqa: S704 - built and escaped by ElementTree


def _words(answer: Mapping[str, Any], turn_bar: float, reserve: float, units: Units) -> str:
    bar = units.of_base("bar")
    ends = ", ".join(
        f"{one['name']} {bar.rounded(one['end_gauge_bar'], Way.DOWN):g} {bar.name}"
        for one in answer["divers"]
    )
    return (
        f"The way up begins at minute {answer['ascent_starts_min']:g}, the surface is reached at minute "
        f"{answer['run_min']:.0f}. Back at the surface: {ends}. Turn {bar.rounded(turn_bar, Way.UP):g} "
        f"{bar.name}, reserve {bar.rounded(reserve, Way.UP):g} {bar.name}. "
        "The same figures stand in the table below."
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


def _polyline(
    svg: Element, points: Sequence[tuple[float, float]], dashes: str, *, first: bool = False
) -> None:
    drawn = {"class": "stroke first" if first else "stroke"}
    drawn["points"] = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    SubElement(svg, "polyline", {**drawn, "stroke-dasharray": dashes} if dashes else drawn)
