"""The gas account as a picture: one day's way from what was there to what is there, or a week's days."""

from collections.abc import Callable, Sequence

from markupsafe import Markup

from app.planning.gas_account import Flow, Line
from app.records.gas_account import GasAccount
from app.web.drawing import WIDTH, Drawing, Scale

EDGE = 4.0
ROW, BAR = 52.0, 18.0
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
WEEK_BAR = Scale(0, 1, EDGE, 210)
WEEK_ROW = 24.0


def day_picture(line: Line, say: Callable[[float], str]) -> Markup:
    """Return one day's account as steps from opening to closing. say: an amount in litres in words."""
    steps = [(word, line.amounts[flow], kind) for flow, word, kind in STEPS if line.amounts.get(flow)]
    words = "; ".join(f"{word} {say(abs(litres))}" for word, litres, _ in steps) or "nothing moved"
    told = f"At the start {say(line.opening)}; {words}; at the end {say(line.closing)}."
    height = ROW * (len(steps) + 2)
    drawing = Drawing("account", height, "The day's gas, step by step", told)
    reached = [line.opening, line.closing]
    level = line.opening
    for _, litres, _ in steps:
        level += litres
        reached.append(level)
    scale = Scale(0, max(*reached, 1.0), EDGE, WIDTH - EDGE)
    _step(drawing, 0, "At the start", say(line.opening), (scale.at(0), scale.at(line.opening)), "")
    level = line.opening
    for row, (word, litres, kind) in enumerate(steps, 1):
        sign = "+" if litres > 0 else "−"
        ends = (scale.at(level), scale.at(level + litres))
        _step(drawing, row, word, f"{sign} {say(abs(litres))}", ends, kind)
        level += litres
    _step(drawing, len(steps) + 1, "At the end", say(line.closing), (scale.at(0), scale.at(line.closing)), "")
    return drawing.done()


def days_picture(days: Sequence[GasAccount], say: Callable[[float], str]) -> Markup:
    """Return several days, each with what was filled (full), breathed (outlined) and missing (dashed)."""
    rows: list[tuple[str, float, str]] = []
    for one in days:
        total = one.total
        rows.append((f"{one.first:%a} {one.first.day} {one.first:%b}", -1.0, ""))
        rows.append(("filled", total.of(Flow.FILLED), ""))
        rows.append(("breathed", total.of(Flow.BREATHED), "stroke"))
        if total.of(Flow.LOST):
            rows.append(("missing", total.of(Flow.LOST), "stroke limit"))
    told = "; ".join(
        f"{one.first:%a} {one.first.day} {one.first:%b}: {say(one.total.of(Flow.FILLED))} filled, "
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


def _step(drawing: Drawing, row: int, word: str, amount: str, ends: tuple[float, float], kind: str) -> None:
    y = row * ROW
    drawing.text(EDGE, y + 18, word)
    drawing.text(WIDTH - EDGE, y + 18, amount, "end")
    drawing.box(ends[0], ends[1], y + 25, BAR, kind)
