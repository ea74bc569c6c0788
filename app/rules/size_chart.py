"""Which size to try first: our own starting chart until the shop writes its own, and what guests told.

Suits and jackets differ by maker: the chart says where to begin, the guest in front of the mirror decides.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from app.rules import limits as L
from app.rules.kit import SIZES

SOURCE = "our own starting chart, check against the shop's suits"
FITS, SMALL, LARGE = "fits", "too small", "too large"
FIT_WORDS = (FITS, SMALL, LARGE)


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing that is measured on a guest, with the range that a booking can hold."""

    key: str
    label: str
    unit: str
    lowest: float
    highest: float

    def say(self, value: float) -> str:
        """A value with its unit."""
        return f"{value:g} {self.unit}".strip()


def _edge(limit: L.Limit) -> float:
    """The number of a limit as shipped: how far a booking's form goes."""
    return 0.0 if isinstance(limit.value, tuple) else float(limit.value)


MEASURES: Mapping[str, Measure] = MappingProxyType(
    {
        "height": Measure("height", "height", "cm", _edge(L.HEIGHT_LOWEST), _edge(L.HEIGHT_HIGHEST)),
        "weight": Measure("weight", "weight", "kg", _edge(L.WEIGHT_LOWEST), _edge(L.WEIGHT_HIGHEST)),
        "shoe": Measure("shoe", "shoe size", "", 20.0, 55.0),
    }
)
"""Height in cm, weight in kg, shoes in European sizes."""


@dataclass(frozen=True, slots=True)
class Band:
    """Above `low`, up to and including `high`: this size. Units of the measure."""

    low: float
    high: float
    size: str


KindChart = Mapping[str, tuple[Band, ...]]
"""Measure -> its bands, lowest first. Where two measures give two sizes, the larger counts."""

Chart = Mapping[str, KindChart]
"""Kind of kit -> its bands. A kind without bands has one size for all."""


@dataclass(frozen=True, slots=True)
class Told:
    """What somebody said of one size at the mirror: one of FIT_WORDS."""

    size: str
    said: str


def _bands(measure: str, steps: Sequence[tuple[float, str]]) -> tuple[Band, ...]:
    """Bands from (up to and including, size); the last goes up to the end of the measure."""
    ends = [high for high, _ in steps[:-1]] + [MEASURES[measure].highest]
    starts = [MEASURES[measure].lowest, *ends[:-1]]
    return tuple(Band(low, high, size) for low, high, (_, size) in zip(starts, ends, steps, strict=True))


_TALL = (
    (155, "XXS"), (163, "XS"), (169, "S"), (177, "M"), (184, "L"), (190, "XL"), (196, "XXL"), (0, "3XL"),
)  # fmt: skip
_HEAVY = (
    (47, "XXS"), (56, "XS"), (65, "S"), (75, "M"), (87, "L"), (100, "XL"), (115, "XXL"), (0, "3XL"),
)  # fmt: skip
_BODY: KindChart = MappingProxyType({"height": _bands("height", _TALL), "weight": _bands("weight", _HEAVY)})
_FEET: KindChart = MappingProxyType(
    {"shoe": _bands("shoe", [(float(size), size) for size in SIZES["boots"]])}
)

BUILT_IN: Chart = MappingProxyType(
    {
        "suit": MappingProxyType(
            {
                "height": _bands("height", ((134, "130"), (144, "140"), (152, "150"), *_TALL)),
                # A child's suit closes up to this weight; how tall the child is decides which.
                "weight": _bands("weight", ((47, "130"), *_HEAVY[1:])),
            }
        ),
        # A jacket is held by the cylinder band and straps: it follows the body, not the length of the legs.
        "jacket": _BODY,
        "boots": _FEET,
        "fins": _FEET,
        "mask": MappingProxyType({"height": _bands("height", ((150, "small"), (0, "medium")))}),
        "hood": _BODY,
        "gloves": _BODY,
    }
)
"""Our own starting chart. Source: none; check against the shop's own kit."""


def first_sizes(
    height_cm: float, mass_kg: float, shoe_size: float, chart: Chart = BUILT_IN
) -> Mapping[str, str]:
    """Return kind of kit -> the size to try first, "" where one size is for all.

    Height in cm, weight in kg, European shoe size. Sizes beyond the chart take its smallest or largest.
    """
    found = {"height": height_cm, "weight": mass_kg, "shoe": shoe_size}
    return {kind: _size(kind, found, chart.get(kind, {})) for kind in SIZES}


def sizes_to_try(kind: str, first: str, told: Iterable[Told] = ()) -> tuple[str, ...]:
    """Return the sizes worth trying in order: the first one, then one larger. Too small never fits.

    told: what this guest said of sizes of this kind before, oldest first. What fitted comes first; what
    was too small or too large is not tried again.
    """
    known = SIZES.get(kind, ())
    if first not in known:
        return (first,)
    said = {one.size: one.said for one in told if one.size in known}
    fitted = [size for size, word in said.items() if word == FITS]
    above = max((known.index(size) + 1 for size, word in said.items() if word == SMALL), default=0)
    below = min((known.index(size) for size, word in said.items() if word == LARGE), default=len(known))
    start = known.index(fitted[-1] if fitted else first)
    if above < below:
        start = min(max(start, above), below - 1)
    return tuple(size for size in known[start : start + 2] if said.get(size, FITS) == FITS)


def chart_problems(kind: str, bands: KindChart) -> dict[str, str]:
    """Return measure -> what is wrong with its bands and how to put it right; empty for a sound chart.

    Bands must cover every guest who can be booked, each once, larger guests never a smaller size.
    """
    return {
        measure: sentence
        for measure, rows in bands.items()
        if (sentence := _first_problem(kind, MEASURES[measure], rows))
    }


def _first_problem(kind: str, measure: Measure, rows: Sequence[Band]) -> str:
    say, ordered = measure.say, sorted(rows, key=lambda band: (band.low, band.high))
    if not ordered:
        return ""
    for band in ordered:
        if band.low >= band.high:
            return f"{band.size} goes from {say(band.low)} to {say(band.high)}. Write the smaller one first."
    if ordered[0].low > measure.lowest:
        return f"No size from {say(measure.lowest)} to {say(ordered[0].low)}, below {ordered[0].size}."
    for lower, upper in pairwise(ordered):
        if upper.low > lower.high:
            gap = f"from {say(lower.high)} to {say(upper.low)}"
            return f"No size {gap}, between {lower.size} and {upper.size}."
        if upper.low < lower.high:
            return f"{lower.size} and {upper.size} both cover {say(upper.low)} to {say(lower.high)}."
        if SIZES[kind].index(upper.size) <= SIZES[kind].index(lower.size):
            return f"{upper.size} is for larger guests than {lower.size}, but is the smaller size."
    if ordered[-1].high < measure.highest:
        return f"No size from {say(ordered[-1].high)} to {say(measure.highest)}, above {ordered[-1].size}."
    return ""


def _size(kind: str, found: Mapping[str, float], bands: KindChart) -> str:
    sizes = [_in_band(found[measure], rows) for measure, rows in bands.items() if rows]
    return max(sizes, key=SIZES[kind].index, default="")


def _in_band(value: float, rows: tuple[Band, ...]) -> str:
    return next((band.size for band in rows if value <= band.high), rows[-1].size)
