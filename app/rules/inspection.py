"""How often cylinders are inspected, by country. A starting point: an authority says what the law asks.

A shop follows one of these, a single cylinder may follow another, and the strictest of these, the shop's
limits and the cylinder's own intervals binds.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from app.rules import limits as L
from app.rules.resolve import Limits


@dataclass(frozen=True, slots=True)
class Inspection:
    """One country's intervals, in months; None where it says nothing. doubt: what is not sure about it."""

    key: str
    name: str
    visual_months: int | None
    pressure_months: int | None
    source: str
    doubt: str


@dataclass(frozen=True, slots=True)
class Interval:
    """How many months one inspection counts, and who set that."""

    months: int | None
    bound_by: str


GENERAL = "general"
_TABLE = (
    Inspection(
        GENERAL,
        "General",
        12,
        60,
        "BS EN ISO 18119:2018, guidance where no local rule says otherwise",
        "Seen as quoted, not in the standard itself. A written risk assessment may stretch the look inside.",
    ),
    Inspection(
        "united_states",
        "United States",
        12,
        60,
        "49 CFR 180.209, cylinders DOT 3AL and 3AA; the yearly look inside is custom",
        "Other kinds of cylinder and other uses have intervals of their own. Read the mark on the cylinder.",
    ),
    Inspection(
        "germany",
        "Germany",
        None,
        24,
        "a cylinder maker's page without a date: cylinders for diving every two years",
        "One page, and nobody knows how old. Ask your inspection body.",
    ),
    Inspection(
        "australia",
        "Australia",
        12,
        12,
        "common practice, no source: every inspection yearly",
        "From memory. Ask your test station.",
    ),
)
ALL: Mapping[str, Inspection] = MappingProxyType({one.key: one for one in _TABLE})


def inspection_of(own: str, shops: str) -> Inspection:
    """Return the rules that a cylinder follows: its own, else the shop's, else the general ones."""
    return ALL.get(own) or ALL.get(shops) or ALL[GENERAL]


def visual_interval(rules: Inspection, own_months: int | None, limits: Limits) -> Interval:
    """Return how long a look inside counts; the strictest of country, limit and the cylinder's own."""
    return _strictest(rules.visual_months, rules.name, own_months, limits, L.CYLINDER_VISUAL_EVERY)


def pressure_interval(rules: Inspection, own_months: int | None, limits: Limits) -> Interval:
    """Return how long a pressure test counts; the strictest of country, limit and the cylinder's own."""
    return _strictest(rules.pressure_months, rules.name, own_months, limits, L.CYLINDER_PRESSURE_TEST_EVERY)


def tightest(*months: int | None) -> int | None:
    """Return the shortest of the intervals that say something, in months."""
    return min((one for one in months if one is not None), default=None)


def _strictest(countrys: int | None, name: str, own: int | None, limits: Limits, limit: L.Limit) -> Interval:
    number = limits[limit].number
    if number is None:
        return Interval(None, limits[limit].bound_by)
    voices = [(int(number), limits[limit].bound_by)]
    if countrys is not None:
        voices.append((countrys, name))
    if own is not None:
        voices.append((own, "this cylinder"))
    months, who = min(voices, key=lambda voice: voice[0])
    return Interval(months, who)
