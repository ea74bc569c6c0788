"""Whether a gauge reads what the fill record says. It never refuses: it asks, and somebody answers."""

from math import ceil, floor

from app.planning.edge_reading import reading_agrees
from app.rules import limits as L
from app.rules.decision import ALLOWED, Decision, Reason, note


def agrees_with_fill(bar: float, low_bar: float, high_bar: float, cylinder: str) -> Decision:
    """Note, with a question, a reading in bar gauge that the fill record does not explain.

    low_bar, high_bar: what cooling or warming makes of the fill; the errors of two gauges are allowed on top
    (`app.planning.edge_reading`). cylinder: its number.
    """
    if reading_agrees(low_bar, high_bar, bar):
        return ALLOWED
    said = f"{floor(low_bar)} to {ceil(high_bar)}"
    text = f"The fill record says {said} bar. Check the cylinder's number, the gauge and the valve."
    rule = L.GAUGE_AGREES_WITH_FILL.key
    return note(Reason(rule, text, f"{bar:g}", said, "bar", "fill record", cylinder))
