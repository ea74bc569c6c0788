"""The drawing on the page that a guest takes home: the dive as soundings from the surface, and the gas left.

Thin soundings hang from the surface line, one each minute, and end on the line of the dive; beside them
stands the cylinder, filled as far as it came back. Ink alone, for any printer. It shows a plain dive of that
time and depth, and says so: nobody measured its course.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup

from app.web.drawing import WIDTH, Drawing, Scale

HEIGHT = 230.0
SURFACE, DEEPEST = 40.0, 176.0
LEFT, RIGHT = 8.0, 262.0
# The cylinder: its body, its shoulder and its valve.
BODY_LEFT, BODY_RIGHT, BODY_TOP, BODY_BOTTOM = 302.0, 340.0, 76.0, 176.0
SHOULDER, NECK = 14.0, 7.0
# More soundings than this would run together.
MOST_SOUNDINGS = 45


@dataclass(frozen=True)
class DivePicture:
    """What is drawn. points: (minute, m). share_left: of the gas, None when a gauge was not read.

    surface, depth_said, minutes_said: words beside the lines. words: what the drawing shows, in a sentence.
    direction: "rtl" where words run from right to left.
    """

    points: Sequence[tuple[float, float]]
    deepest_m: float
    share_left: float | None
    surface: str
    depth_said: str
    minutes_said: str
    words: str
    direction: str = "ltr"


def picture(name: str, dive: DivePicture) -> Markup:
    """Return the drawing. name: unique on the page."""
    last = dive.points[-1][0]
    across, down = Scale(0, last, LEFT, RIGHT), Scale(0, dive.deepest_m, SURFACE, DEEPEST)
    said = f"{dive.words}: {dive.depth_said}, {dive.minutes_said}."
    drawing = Drawing(name, HEIGHT, dive.words, said)
    # Words that run from the right begin at the other end of the line.
    right = dive.direction == "rtl"
    drawing.text(RIGHT if right else LEFT, SURFACE - 12, dive.surface, "start")
    drawing.line(LEFT, SURFACE, RIGHT, SURFACE)
    step = max(1.0, last / MOST_SOUNDINGS)
    minute = step
    while minute < last:
        x = across.at(minute)
        drawing.line(x, SURFACE, x, down.at(depth_at(dive.points, minute)), "stroke grid")
        minute += step
    drawing.lines([(across.at(one), down.at(depth)) for one, depth in dive.points], kind="stroke first")
    drawing.text((LEFT + RIGHT) / 2, DEEPEST + 24, f"{dive.depth_said} · {dive.minutes_said}", "middle")
    if dive.share_left is not None:
        _cylinder(drawing, dive.share_left)
    return drawing.done()


def depth_at(points: Sequence[tuple[float, float]], minute: float) -> float:
    """Return the depth in m at a minute, between the waypoints of a dive."""
    for (before, shallow), (after, deep) in pairwise(points):
        if before <= minute <= after:
            return Scale(before, after, shallow, deep).at(minute)
    return 0.0


def _cylinder(drawing: Drawing, share: float) -> None:
    middle = (BODY_LEFT + BODY_RIGHT) / 2
    top = BODY_TOP - SHOULDER
    drawing.lines(
        [
            (BODY_LEFT, BODY_TOP),
            (BODY_LEFT, BODY_BOTTOM),
            (BODY_RIGHT, BODY_BOTTOM),
            (BODY_RIGHT, BODY_TOP),
            (middle + NECK, top),
            (middle + NECK, top - NECK),
            (middle - NECK, top - NECK),
            (middle - NECK, top),
            (BODY_LEFT, BODY_TOP),
        ]
    )
    drawing.line(middle - 2 * NECK, top - NECK, middle + 2 * NECK, top - NECK)
    level = Scale(0, 1, BODY_BOTTOM - 3, BODY_TOP + 3).at(share)
    if share > 0:
        drawing.box(BODY_LEFT + 4, BODY_RIGHT - 4, level, BODY_BOTTOM - 3 - level, "gas")
    drawing.text(min(middle, WIDTH - 30.0), DEEPEST + 24, f"{share * 100:.0f} %", "middle")
