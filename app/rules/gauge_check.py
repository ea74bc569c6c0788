"""Whether a gauge reads what the fill record says. It never refuses: it asks, and somebody answers."""

from math import ceil, floor

from app.rules import limits as L
from app.rules.decision import ALLOWED, Decision, Reason, note


def agrees_with_fill(bar: float, low_bar: float, high_bar: float, cylinder: str) -> Decision:
    """Note, with a question, a reading in bar gauge outside what the fill record explains.

    low_bar, high_bar: the lowest and highest gauge that cooling, warming and two gauges' errors explain.
    """
    if low_bar <= bar <= high_bar:
        return ALLOWED
    low, high = floor(low_bar), ceil(high_bar)
    text = f"The fill record says {low} to {high} bar. Check the cylinder's number, the gauge and the valve."
    return note(
        Reason(
            L.GAUGE_AGREES_WITH_FILL.key, text, f"{bar:g}", f"{low} to {high}", "bar", "fill record", cylinder
        )
    )
