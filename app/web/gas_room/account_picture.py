"""The gas account as a picture: one day's way from what was there to what is there, or a week's days."""

from collections.abc import Callable, Sequence

from markupsafe import Markup

from app.planning.gas_account import Flow, Line
from app.records.gas_room.gas_account import GasAccount
from app.web.drawing import WIDTH, Drawing, Scale

EDGE = 4.0
ROW, BAR, ENDS = 52.0, 18.0, 28.0
# Columns in the order of the account, with their words and the line they are drawn with.
STEPS = (
    (Flow.FIRST, "First read", ""),
    (Flow.FILLED, "Filled", ""),
    (Flow.FOUND, "Found", ""),
    (Flow.BREATHED, "Breathed", "stroke"),
    (Flow.DRAINED, "Drained", "stroke"),
    (Flow.GIVEN, "From banks to cylinders", "stroke"),
    (Flow.LOST, "Missing", "stroke limit"),
    (Flow.UNSURE, "Gauge and heat", "stroke grid"),
)
WEEK = (
    (Flow.FILLED, "filled", ""),
    (Flow.BREATHED, "breathed", "stroke"),
    (Flow.DRAINED, "drained", "stroke"),
    (Flow.LOST, "missing", "stroke limit"),
)
WEEK_BAR = Scale(0, 1, EDGE, 210)
WEEK_ROW = 24.0


def day_picture(line: Line, say: Callable[[float], str]) -> Markup:
    """Return what moved as bars on one scale, between start and end in words. say: litres in words."""
    steps = [(word, line.amounts[flow], kind) for flow, word, kind in STEPS if line.amounts.get(flow)]
    words = "; ".join(f"{word} {say(abs(litres))}" for word, litres, _ in steps) or "nothing moved"
    told = f"At the start {say(line.opening)}; {words}; at the end {say(line.closing)}."
    height = ROW * len(steps) + 2 * ENDS
    drawing = Drawing("account", height, "The day's gas, step by step", told)
    _row(drawing, 0, "At the start", say(line.opening))
    scale = Scale(0, max([1.0, *(abs(litres) for _, litres, _ in steps)]), EDGE, WIDTH - EDGE)
    for number, (word, litres, kind) in enumerate(steps):
        y = ENDS + number * ROW
        _row(drawing, y, word, f"{'+' if litres > 0 else '−'} {say(abs(litres))}")
        drawing.box(scale.at(0), scale.at(abs(litres)), y + 25, BAR, kind)
    _row(drawing, height - ENDS, "At the end", say(line.closing))
    return drawing.done()


def days_picture(days: Sequence[GasAccount], say: Callable[[float], str]) -> Markup:
    """Return several days, each with what was filled (full), breathed (outlined) and missing (dashed)."""
    rows: list[tuple[str, float, str]] = []
    for one in days:
        moved = [(word, one.total.of(flow), kind) for flow, word, kind in WEEK if one.total.of(flow)]
        rows.append((_short(one) if moved else f"{_short(one)}: nothing moved", -1.0, ""))
        rows += moved
    told = "; ".join(
        f"{_short(one)}: {say(one.total.of(Flow.FILLED))} filled, "
        f"{say(one.total.of(Flow.BREATHED))} breathed, {say(one.total.of(Flow.LOST))} missing"
        for one in days
    )
    drawing = Drawing("account", WEEK_ROW * len(rows) + 8, "The gas of each day", f"{told}.")
    most = max([1.0, *(litres for _, litres, _ in rows)])
    for number, (word, litres, kind) in enumerate(rows):
        y = number * WEEK_ROW
        if litres < 0:
            drawing.text(EDGE, y + 19, word)
            continue
        end = WEEK_BAR.at(litres / most)
        drawing.box(EDGE, end, y + 5, 13, kind)
        drawing.text(end + 8, y + 17, f"{say(litres)} {word}")
    return drawing.done()


def _short(one: GasAccount) -> str:
    return f"{one.first:%a} {one.first.day} {one.first:%b}"


def _row(drawing: Drawing, y: float, word: str, amount: str) -> None:
    drawing.text(EDGE, y + 18, word)
    drawing.text(WIDTH - EDGE, y + 18, amount, "end")
