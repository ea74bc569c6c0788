"""Pictures of the gas log: where each diver ended against the plan, and what each day or month took."""

from collections.abc import Callable, Sequence

from markupsafe import Markup

from app.planning.units import Units, Way
from app.records.look_back.dive_lines import DiveLines, DiverLine
from app.records.look_back.gas_periods import Period
from app.web.drawing import WIDTH, Drawing, Scale

EDGE = 4.0
ROW = 46.0
# More divers than this make a picture that nobody reads; the tables hold all.
MOST = 16
# Where in a row the grid begins, and how long it is there.
GRID_FROM, GRID_LONG = 29.0, 14.0
BAR = Scale(0, 1, EDGE, 200)
PERIOD_ROW = 44.0


def ends_picture(lines: Sequence[tuple[DiveLines, DiverLine]], units: Units) -> Markup | str:
    """Return each diver's end pressure with the band that the plan promised, those who stand out first."""
    told = [(dive, one) for dive, one in lines if one.end_bar is not None and one.band_bar is not None]
    told.sort(key=lambda pair: not pair[1].odd)
    shown = told[:MOST]
    if not shown:
        return ""
    unit = units.of_base("bar")
    highest = max(100.0, *(max(one.end_bar or 0, (one.band_bar or (0, 0))[1]) for _, one in shown))
    across = Scale(0, highest, EDGE + 6, WIDTH - EDGE - 6)
    inside = sum(not one.outside_band for _, one in shown)
    words = (
        f"{len(shown)} divers. {inside} ended inside the band of their plan, {len(shown) - inside} outside. "
        "The same figures stand in the table below."
    )
    drawing = Drawing("ends", ROW * len(shown) + 58, "End pressures against the bands of the plans", words)
    bottom = ROW * len(shown) + 8
    for step in range(0, int(highest) + 1, 50):
        # Dashes beside the lines only: a grid through the names would be hard to read.
        x, last = across.at(step), (len(shown) - 1) * ROW + GRID_FROM + GRID_LONG
        drawing.line(x, GRID_FROM, x, last, "stroke grid", dashes=f"{GRID_LONG:g} {ROW - GRID_LONG:g}")
        drawing.text(across.at(step), bottom + 18, f"{unit.rounded(step, Way.NEAR):g}", "middle")
    drawing.text(WIDTH - EDGE, bottom + 42, f"{unit.name} at the end", "end")
    for number, (_, one) in enumerate(shown):
        y = number * ROW
        low, high = one.band_bar or (0.0, 0.0)
        end = across.at(one.end_bar or 0.0)
        drawing.text(EDGE, y + 22, one.name)
        drawing.line(across.at(low), y + 36, across.at(high), y + 36)
        if one.outside_band:
            drawing.triangle(end, y + 36, 6)
        else:
            drawing.circle(end, y + 36, 4)
    return drawing.done()


def periods_picture(periods: Sequence[tuple[str, Period]], say: Callable[[float], str]) -> Markup:
    """Return what guests breathed in each day or month as bars, with what one guest took beside them."""
    told = "; ".join(f"{label}: {say(one.guest_litres)}" for label, one in periods)
    drawing = Drawing("periods", PERIOD_ROW * len(periods) + 6, "Breathed by guests", f"{told}.")
    most = max([1.0, *(one.guest_litres for _, one in periods)])
    for number, (label, one) in enumerate(periods):
        y = number * PERIOD_ROW
        if one.litres_a_guest is None:
            drawing.text(EDGE, y + 18, f"{label}: no guest's dive")
            continue
        each = say(one.litres_a_guest)
        drawing.text(EDGE, y + 18, f"{label}: {one.guest_dives} dives, {each} each")
        drawing.box(EDGE, BAR.at(one.guest_litres / most), y + 25, 12)
        drawing.text(BAR.at(one.guest_litres / most) + 8, y + 37, say(one.guest_litres))
    return drawing.done()
