"""Three plain charts: shares with the bounds in which they are known, amounts, and waits."""

from collections.abc import Sequence

from markupsafe import Markup

from app.planning.shares import Share
from app.records.learning import Wait
from app.web.drawing import WIDTH, Drawing, Scale

EDGE = 4.0
ROW = 44.0
AXIS = 26.0


def shares_picture(name: str, rows: Sequence[tuple[str, Share]], promised: float | None = None) -> Markup:
    """Return each share as a dot on a line from none to all; the line is where the true share lies.

    promised: a share to hold them against, drawn dashed at the first row.
    """
    across = Scale(0, 1, EDGE + 6, WIDTH - EDGE - 20)
    told = "; ".join(
        f"{label}: {one.count} of {one.of}" if one.of else f"{label}: nobody" for label, one in rows
    )
    drawing = Drawing(
        name, ROW * len(rows) + AXIS + 4, "Shares, with the bounds in which they are known", f"{told}."
    )
    bottom = ROW * len(rows) + 4
    for step in (0.0, 0.5, 1.0):
        drawing.line(across.at(step), bottom - 6, across.at(step), bottom, "stroke grid")
        drawing.text(across.at(step), bottom + 18, f"{round(100 * step)} %", "middle")
    if promised is not None:
        drawing.line(across.at(promised), 24, across.at(promised), 44, "stroke limit", "4 3")
    for number, (label, one) in enumerate(rows):
        y = number * ROW
        drawing.text(EDGE, y + 18, f"{label}: {one.count} of {one.of}" if one.of else f"{label}: nobody yet")
        if one.share is not None:
            low, high = one.interval
            drawing.line(across.at(low), y + 33, across.at(high), y + 33)
            drawing.circle(across.at(one.share), y + 33, 5)
    return drawing.done()


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
