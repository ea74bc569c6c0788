"""Three plain charts: shares with the bounds in which they are known, amounts, and waits."""

from collections.abc import Sequence
from textwrap import wrap

from markupsafe import Markup

from app.planning.shares import Share
from app.records.look_back.learning import Wait
from app.web.drawing import WIDTH, Drawing, Scale

EDGE = 4.0
ROW, LINE = 44.0, 20.0
AXIS = 26.0
# As many letters of a label as surely stand in a line of the picture.
MOST_LETTERS = 38


def shares_picture(name: str, rows: Sequence[tuple[str, Share]], promised: float | None = None) -> Markup:
    """Return each share as a dot on a line from none to all; the line is where the true share lies.

    promised: a share to hold the first row against, drawn dashed.
    """
    across = Scale(0, 1, EDGE + 6, WIDTH - 86)
    labels = [wrap(label, MOST_LETTERS) for label, _ in rows]
    height = sum(ROW + LINE * (len(label) - 1) for label in labels) + 4
    told = "; ".join(f"{label}: {_count(one)}" for label, one in rows)
    drawing = Drawing(name, height + AXIS, "Shares, with the bounds in which they are known", f"{told}.")
    for step, anchor in ((0.0, "start"), (0.5, "middle"), (1.0, "middle")):
        drawing.line(across.at(step), height - 6, across.at(step), height, "stroke grid")
        drawing.text(
            across.at(step) - (6 if anchor == "start" else 0), height + 18, f"{step:.0%}"[:-1] + " %", anchor
        )
    y = 0.0
    for number, (label, (_, one)) in enumerate(zip(labels, rows, strict=True)):
        for part in label:
            drawing.text(EDGE, y + 18, part)
            y += LINE
        y += ROW - LINE
        at = y - ROW + 33
        drawing.text(WIDTH - EDGE, at + 5, _count(one), "end")
        if number == 0 and promised is not None:
            drawing.line(across.at(promised), at - 10, across.at(promised), at + 10, "stroke limit", "4 3")
        if one.share is not None:
            low, high = one.interval
            drawing.line(across.at(low), at, across.at(high), at)
            drawing.circle(across.at(one.share), at, 5)
    return drawing.done()


def _count(one: Share) -> str:
    return f"{one.count} of {one.of}" if one.of else "nobody"


def amounts_picture(name: str, rows: Sequence[tuple[str, int]]) -> Markup:
    """Return each amount as a bar from the left edge."""
    most = max(1, *(count for _, count in rows))
    across = Scale(0, most, EDGE, WIDTH - EDGE - 50)
    told = "; ".join(f"{label}: {count}" for label, count in rows)
    drawing = Drawing(name, ROW * len(rows) + 4, "How many of each", f"{told}.")
    for number, (label, count) in enumerate(rows):
        y = number * ROW
        drawing.text(EDGE, y + 18, label)
        drawing.box(EDGE, across.at(count), y + 25, 12)
        drawing.text(across.at(count) + 8, y + 37, f"{count}")
    return drawing.done()


def waits_picture(rows: Sequence[Wait]) -> Markup:
    """Return the wait of each start time: a bar to the middle one, a line to what nine of ten do not pass."""
    most = max([1.0, *(one.nine_of_ten for one in rows)])
    across = Scale(0, most, EDGE, WIDTH - EDGE - 50)
    told = "; ".join(
        f"{one.clock}: {one.middle:.0f} min, nine of ten {one.nine_of_ten:.0f} min" for one in rows
    )
    drawing = Drawing("waits", ROW * len(rows) + 4, "Minutes from arriving to the water", f"{told}.")
    for number, one in enumerate(rows):
        y = number * ROW
        drawing.text(EDGE, y + 18, f"{one.clock}, {one.parties} {'party' if one.parties == 1 else 'parties'}")
        drawing.box(EDGE, across.at(one.middle), y + 25, 12)
        drawing.line(across.at(one.middle), y + 31, across.at(one.nine_of_ten), y + 31)
        drawing.text(across.at(one.nine_of_ten) + 8, y + 37, f"{one.middle:.0f} min")
    return drawing.done()
