"""The picture of promised bands and what the gauges read in the end: one upright line for each dive."""

from collections.abc import Sequence

from markupsafe import Markup

from app.planning.units import METRIC, Units, Way
from app.records.plans.breathing_report import Held
from app.web.drawing import WIDTH, Drawing, Scale

HEIGHT, TOP, BOTTOM = 300, 40, 250
LEFT, RIGHT = 48, WIDTH - 12
# More dives than this would touch each other on a phone.
MOST = 24


def picture(held: Sequence[Held], units: Units = METRIC) -> Markup:
    """Return the picture of the newest dives, oldest first, in the reader's units."""
    unit = units.of_base("bar")
    shown = held[-MOST:]
    highest = max(50.0, *(max(one.high_bar, one.end_bar) for one in shown))
    bars = Scale(0.0, highest, BOTTOM, TOP)
    across = Scale(0, max(1, len(shown) - 1), LEFT + 12, RIGHT - 8)
    inside = sum(one.inside for one in shown)
    under = sum(one.under for one in shown)
    words = (
        f"{len(shown)} dives, oldest first. {inside} ended inside the band, {under} under it, "
        f"{len(shown) - inside - under} over it. The same figures stand in the table below."
    )
    drawing = Drawing("breathing", HEIGHT, "Band of each dive and the pressure read at its end", words)
    drawing.text(4, TOP - 18, f"Pressure at the end, {unit.name}")
    for step in (0.0, 50.0, 100.0, 150.0):
        if step <= highest:
            drawing.line(LEFT, bars.at(step), RIGHT, bars.at(step), "stroke grid")
            drawing.text(LEFT - 6, bars.at(step) + 5, f"{unit.rounded(step, Way.NEAR):g}", "end")
    for number, one in enumerate(shown):
        x = across.at(number)
        drawing.line(x, bars.at(max(0.0, one.low_bar)), x, bars.at(max(0.0, one.high_bar)))
        end = bars.at(max(0.0, one.end_bar))
        if one.inside:
            drawing.circle(x, end, 4)
        else:
            drawing.triangle(x, end, 6)
    drawing.circle(LEFT + 4, HEIGHT - 17, 4)
    drawing.text(LEFT + 14, HEIGHT - 12, "inside its band")
    drawing.triangle(LEFT + 156, HEIGHT - 18, 6)
    drawing.text(LEFT + 168, HEIGHT - 12, "under or over it")
    return drawing.done()
