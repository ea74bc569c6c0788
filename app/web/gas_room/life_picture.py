"""The picture of a cylinder's life: pressure over time, with marks for fills, dives, tests, times aside."""

from collections.abc import Callable, Sequence
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from markupsafe import Markup

from app.records.gas_room.cylinder_life import DRAINED, END, FILLED, READ, Life, Point
from app.web.drawing import WIDTH, Drawing, Scale

LEFT, RIGHT = 48.0, WIDTH - 10.0
TOP, BOTTOM = 44.0, 240.0
BAND = 8.0
HEIGHT = 330.0
# More marks than this lie on top of each other: the line alone is drawn.
MOST_MARKS = 80
LEGEND = (
    (10.0, FILLED, "filled"),
    (92.0, END, "after a dive"),
    (214.0, READ, "read"),
    (278.0, DRAINED, "drained"),
)
HALF_DAY = timedelta(hours=12)
# From here on a day is not told without its year.
YEAR_SAID = timedelta(days=300)


def life_picture(
    life: Life, since: datetime | None, now: datetime, zone: ZoneInfo, say: Callable[[float], str]
) -> Markup:
    """Return the picture. since: where it begins (None: the first point). say: a pressure in words."""
    first = since or min(life.points[0].at, now)
    last = max(now, life.points[-1].at, first + timedelta(hours=1))
    across = Scale(first.timestamp(), last.timestamp(), LEFT, RIGHT)
    stamp = life.row.working_pressure_bar
    fullest = max(stamp, *(one.bar for one in life.points))
    up = Scale(0, fullest, BOTTOM, TOP)
    drawing = Drawing("life", HEIGHT, f"Pressure of cylinder {life.row.number}", _words(life, say))
    drawing.text(4, 18, f"Pressure; stamped {say(stamp)}")
    for bar in (0.0, stamp):
        drawing.line(LEFT, up.at(bar), RIGHT, up.at(bar), "stroke grid")
        drawing.text(LEFT - 6, up.at(bar) + 5, say(bar).split()[0], "end")
    _aside(drawing, life, across, first, last)
    _tests(drawing, life, across, first, last, zone)
    _pressures(drawing, life.points, across, up)
    _days(drawing, across, first, last, zone)
    _legend(drawing, life)
    return drawing.done()


def _pressures(drawing: Drawing, points: Sequence[Point], across: Scale, up: Scale) -> None:
    places: list[tuple[float, float]] = []
    for one in points:
        x = across.at(one.at.timestamp())
        if one.from_bar is not None:
            places.append((x, up.at(one.from_bar)))
        places.append((x, up.at(one.bar)))
    drawing.lines(_thinned(places))
    if len(points) > MOST_MARKS:
        return
    for one in points:
        _mark(drawing, one.what, across.at(one.at.timestamp()), up.at(one.bar))


def _mark(drawing: Drawing, what: str, x: float, y: float) -> None:
    if what == FILLED:
        drawing.triangle(x, y, 6)
    elif what == END:
        drawing.circle(x, y, 5)
    elif what == DRAINED:
        drawing.box(x - 5, x + 5, y - 5, 10)
    elif what == READ:
        drawing.circle(x, y, 4.5, "stroke")


def _thinned(places: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Keep first, highest, lowest and last of the places that share a unit of width."""
    columns: dict[int, list[tuple[float, float]]] = {}
    for place in places:
        columns.setdefault(int(place[0]), []).append(place)
    kept: list[tuple[float, float]] = []
    for mine in columns.values():
        ends = {0, len(mine) - 1}
        ends |= {mine.index(min(mine, key=lambda p: p[1])), mine.index(max(mine, key=lambda p: p[1]))}
        kept += [mine[number] for number in sorted(ends)]
    return kept


def _aside(drawing: Drawing, life: Life, across: Scale, first: datetime, last: datetime) -> None:
    for one in life.away:
        begin, end = max(one.since, first), min(one.until or last, last)
        drawing.box(
            across.at(begin.timestamp()), across.at(end.timestamp()), BOTTOM + 3, BAND, "stroke limit"
        )


def _tests(
    drawing: Drawing, life: Life, across: Scale, first: datetime, last: datetime, zone: ZoneInfo
) -> None:
    for one in life.tests:
        noon = datetime.combine(one.on, time(0), zone) + HALF_DAY
        if first <= noon <= last:
            x = across.at(noon.timestamp())
            drawing.line(x, TOP - 14, x, BOTTOM, "stroke", "2 5")


def _days(drawing: Drawing, across: Scale, first: datetime, last: datetime, zone: ZoneInfo) -> None:
    for at, anchor in ((first, "start"), (last, "end")):
        day = at.astimezone(zone)
        long = last - first > YEAR_SAID
        words = f"{day.day} {day:%b} {day:%Y}" if long else f"{day:%a} {day.day} {day:%b}"
        drawing.text(across.at(at.timestamp()), BOTTOM + 32, words, anchor)


def _legend(drawing: Drawing, life: Life) -> None:
    if len(life.points) <= MOST_MARKS:
        there = {one.what for one in life.points}
        for x, what, words in LEGEND:
            if what in there:
                _mark(drawing, what, x, 291)
                drawing.text(x + 12, 296, words)
    x = 4.0
    if life.tests:
        drawing.line(x, 318, x + 26, 318, "stroke", "2 5")
        drawing.text(x + 34, 323, "tested")
        x += 110
    if life.away:
        drawing.box(x, x + 26, 313, BAND, "stroke limit")
        drawing.text(x + 34, 323, "aside or away")


def _words(life: Life, say: Callable[[float], str]) -> str:
    lowest, highest = min(one.bar for one in life.points), max(one.bar for one in life.points)
    told = f"{len(life.points)} pressures between {say(lowest)} and {say(highest)}; "
    told += f"{life.fills} fills, {life.dives} dives"
    if life.tests:
        told += "; " + ", ".join(f"{one.what} {one.on.day} {one.on:%b} {one.on:%Y}" for one in life.tests)
    if life.away:
        told += f"; set aside or away {len(life.away)} times"
    return f"{told}. The same figures stand in the table below."
