"""Drawing a chart on the server: lines, boxes and words, escaped by the XML library.

Text is 16 units in a picture 360 units wide: at least 14 px on the narrowest phone. Ink and line come
from the stylesheet, so that a chart works in the dark and on paper; shape and dashes tell things apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement, tostring

from markupsafe import Markup

WIDTH = 360

# Ink for what reads no stylesheet inside a picture (a PDF); where one is read, it has the last word.
_INK = {
    "stroke": {"fill": "none", "stroke": "#000", "stroke-width": "2"},
    "stroke grid": {"fill": "none", "stroke": "#777", "stroke-width": "1"},
    "stroke first": {"fill": "none", "stroke": "#000", "stroke-width": "4"},
    "stroke limit": {"fill": "none", "stroke": "#000", "stroke-width": "2", "stroke-dasharray": "12 4"},
    "turns": {"fill": "#fff", "stroke": "#000", "stroke-width": "3"},
}


@dataclass(frozen=True)
class Scale:
    """A straight scale from values to places on the picture."""

    first: float
    last: float
    begin: float
    end: float

    def at(self, value: float) -> float:
        """Return the place of a value."""
        span = self.last - self.first
        return self.begin if span == 0 else self.begin + (value - self.first) / span * (self.end - self.begin)


class Drawing:
    """One picture with a title and a description for those who hear it."""

    def __init__(self, name: str, height: float, title: str, words: str) -> None:
        """Begin a picture. name: unique on the page."""
        seen_as = {"viewBox": f"0 0 {WIDTH} {height:.0f}", "role": "img"}
        self._svg = Element("svg", {**seen_as, "aria-labelledby": f"{name}-title {name}-text"})
        SubElement(self._svg, "title", id=f"{name}-title").text = title
        SubElement(self._svg, "desc", id=f"{name}-text").text = words

    def text(self, x: float, y: float, words: str, anchor: str = "start") -> None:
        """Write words with their baseline at a place."""
        place = {"x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor}
        SubElement(self._svg, "text", place).text = words

    def line(
        self, x1: float, y1: float, x2: float, y2: float, kind: str = "stroke", dashes: str = ""
    ) -> None:
        """Draw a straight line."""
        ends = {"x1": f"{x1:.1f}", "y1": f"{y1:.1f}", "x2": f"{x2:.1f}", "y2": f"{y2:.1f}", **_drawn(kind)}
        SubElement(self._svg, "line", {**ends, "stroke-dasharray": dashes} if dashes else ends)

    def lines(self, points: Sequence[tuple[float, float]], dashes: str = "", kind: str = "stroke") -> None:
        """Draw a line through points."""
        drawn = {**_drawn(kind), "points": " ".join(f"{x:.1f},{y:.1f}" for x, y in points)}
        SubElement(self._svg, "polyline", {**drawn, "stroke-dasharray": dashes} if dashes else drawn)

    def box(self, x1: float, x2: float, y: float, height: float, kind: str = "") -> None:
        """Draw a box from one x to the other: filled, or with the class of a line as an outline."""
        left, wide = min(x1, x2), max(abs(x2 - x1), 1.5)
        drawn = {"x": f"{left:.1f}", "y": f"{y:.1f}", "width": f"{wide:.1f}", "height": f"{height:.1f}"}
        SubElement(self._svg, "rect", {**drawn, **_drawn(kind)} if kind else drawn)

    def circle(self, x: float, y: float, radius: float, kind: str = "") -> None:
        """Draw a dot, or with the class of a line a ring."""
        drawn = {"cx": f"{x:.1f}", "cy": f"{y:.1f}", "r": f"{radius:.1f}"}
        SubElement(self._svg, "circle", {**drawn, **_drawn(kind)} if kind else drawn)

    def triangle(self, x: float, y: float, size: float) -> None:
        """Draw a filled triangle that points up, its middle at a place."""
        corners = ((x, y - size), (x + size, y + size), (x - size, y + size))
        SubElement(self._svg, "polygon", points=" ".join(f"{one:.1f},{two:.1f}" for one, two in corners))

    def done(self) -> Markup:
        """Return the picture for a page."""
        return Markup(tostring(self._svg, encoding="unicode"))  # noqa: S704 - built and escaped by ElementTree


def _drawn(kind: str) -> dict[str, str]:
    return {"class": kind, **_INK.get(kind, {})}
