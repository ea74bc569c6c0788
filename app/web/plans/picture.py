"""The picture of a plan, made on the server: depth above, each diver's pressure below, one time line.

Who turns first has the thick whole line, with the turn marked on it. Shape before colour: the other lines
differ by dashes, and each carries its diver's name at the end.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from app.planning.units import METRIC, Units, Way
from app.web.drawing import Drawing, Scale

HEIGHT = 470
LEFT, RIGHT = 44, 226
DEPTH_TOP, DEPTH_BOTTOM = 34, 150
GAUGE_TOP, GAUGE_BOTTOM = 210, 425
LINE_HEIGHT = 18
LONGEST_NAME = 7
DASHES = ("9 5", "2 5", "12 4 2 4", "5 3", "1 4 6 4", "16 5")


def picture(answer: Mapping[str, Any], turn_bar: float, units: Units = METRIC) -> Markup:
    """Return the picture of a worked-out plan (the answer as kept with a plan), in the reader's units."""
    curve: Sequence[Mapping[str, Any]] = answer["curve"]
    divers: Sequence[Mapping[str, Any]] = answer["divers"]
    first = next((n for n, one in enumerate(divers) if one["id"] == answer["first_to_turn"]), 0)
    reserve = float(divers[first]["reserve_in_force_bar"])
    deepest = max(point["depth_m"] for point in curve)
    fullest = max(max(point["gauges_bar"]) for point in curve)
    lowest = min(0.0, *(min(point["gauges_bar"]) for point in curve))
    time = Scale(0, curve[-1]["minute"], LEFT, RIGHT)
    depth = Scale(0, deepest, DEPTH_TOP, DEPTH_BOTTOM)
    gauge = Scale(lowest, fullest, GAUGE_BOTTOM, GAUGE_TOP)
    words = _words(answer, turn_bar, reserve, units)
    drawing = Drawing("picture", HEIGHT, "Depth and pressure over the dive", words)
    metre, bar = units.of_base("m"), units.of_base("bar")
    drawing.text(4, DEPTH_TOP - 16, f"Depth in {metre.name}")
    drawing.text(4, GAUGE_TOP - 16, f"Pressure in {bar.name}, cautious rate")
    for metres in (0.0, deepest):
        drawing.line(LEFT, depth.at(metres), RIGHT, depth.at(metres), "stroke grid")
        drawing.text(LEFT - 6, depth.at(metres) + 5, f"{metre.rounded(metres, Way.DOWN):g}", "end")
    drawing.lines([(time.at(point["minute"]), depth.at(point["depth_m"])) for point in curve])
    for value, name in ((turn_bar, "turn"), (reserve, "reserve")):
        drawing.line(LEFT, gauge.at(value), RIGHT, gauge.at(value), "stroke limit")
        drawing.text(LEFT - 6, gauge.at(value) + 5, f"{bar.rounded(value, Way.UP):g}", "end")
        drawing.text(LEFT + 4, gauge.at(value) + LINE_HEIGHT - 3, name)
    drawing.text(LEFT - 6, gauge.at(fullest) + 5, f"{bar.rounded(fullest, Way.DOWN):g}", "end")
    drawing.line(LEFT, GAUGE_BOTTOM, RIGHT, GAUGE_BOTTOM, "stroke grid")
    for minute in _ticks(curve[-1]["minute"]):
        drawing.text(time.at(minute), GAUGE_BOTTOM + 20, f"{minute:g}", "middle")
    drawing.text(RIGHT + 10, GAUGE_BOTTOM + 20, "min")
    others = 0
    for number in range(len(divers)):
        points = [(time.at(point["minute"]), gauge.at(point["gauges_bar"][number])) for point in curve]
        if number == first:
            drawing.lines(points, kind="stroke first")
        else:
            drawing.lines(points, DASHES[others % len(DASHES)])
        others += number != first
    turns_at = answer["divers"][first].get("minutes_to_turn_on_profile")
    if turns_at is not None:
        drawing.circle(time.at(turns_at), gauge.at(turn_bar), 6, "turns")
    ends = [gauge.at(curve[-1]["gauges_bar"][number]) for number in range(len(divers))]
    for number, spot in enumerate(_apart(ends)):
        left = bar.rounded(curve[-1]["gauges_bar"][number], Way.DOWN)
        drawing.line(RIGHT + 2, ends[number], RIGHT + 10, spot, "stroke grid")
        drawing.text(RIGHT + 12, spot + 5, f"{_short(divers[number]['name'])} {left:g}")
    return drawing.done()


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
