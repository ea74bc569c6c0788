"""A signature drawn with a finger or a pen: which strokes are taken, and the picture made of them.

The browser sends whole numbers and nothing else: points of a stroke as ``x,y`` with spaces between,
strokes with a bar between them. No markup of the browser is ever kept or shown; the picture is drawn
anew from the numbers.
"""

import re

# The sheet that is drawn on, in its own units, whatever size it has on the glass.
WIDTH, HEIGHT = 600, 200
# Our own cautious choice: a long name with every letter apart fills less than half of each.
MOST_STROKES = 80
MOST_POINTS = 2000
MOST_CHARACTERS = 20_000
# Fewer are a touch by accident, not a name.
LEAST_POINTS = 4
_STROKES = re.compile(
    r"[0-9]{1,3},[0-9]{1,3}(?: [0-9]{1,3},[0-9]{1,3})*(?:\|[0-9]{1,3},[0-9]{1,3}(?: [0-9]{1,3},[0-9]{1,3})*)*"
)

Stroke = tuple[tuple[int, int], ...]


def read_strokes(said: str) -> tuple[Stroke, ...] | None:
    """Return the strokes of a drawing; ``()`` for none, None for what no page of ours sends."""
    if not said:
        return ()
    if len(said) > MOST_CHARACTERS or not _STROKES.fullmatch(said):
        return None
    strokes = tuple(
        tuple((int(x), int(y)) for x, _, y in (point.partition(",") for point in stroke.split(" ")))
        for stroke in said.split("|")
    )
    points = [point for stroke in strokes for point in stroke]
    if len(strokes) > MOST_STROKES or len(points) > MOST_POINTS:
        return None
    if any(x > WIDTH or y > HEIGHT for x, y in points):
        return None
    return strokes if len(points) >= LEAST_POINTS else ()


def write_strokes(strokes: tuple[Stroke, ...]) -> str:
    """Return strokes as they are kept; ``read_strokes`` reads them back."""
    return "|".join(" ".join(f"{x},{y}" for x, y in stroke) for stroke in strokes)


def path_of(strokes: tuple[Stroke, ...]) -> str:
    """Return strokes as the data of an SVG path (SVG 1.1, section 8.3); a single point is a dot."""
    parts = []
    for (x, y), *rest in strokes:
        lines = "".join(f"L{to_x} {to_y}" for to_x, to_y in rest) or "h0"
        parts.append(f"M{x} {y}{lines}")
    return "".join(parts)
