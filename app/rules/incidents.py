"""Things that went wrong or nearly did: the words to sort them by, and those the program finds itself."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from app.rules import limits as L
from app.rules.gas import Reading, pressures_hold
from app.rules.limits import Limit
from app.rules.people import Where
from app.rules.plan_check import depth_in_force
from app.rules.resolve import InForce, Limits

Severity = Literal["near-miss", "minor", "serious"]

SEVERITIES: Mapping[Severity, str] = MappingProxyType(
    {
        "near-miss": "Nobody was hurt, but somebody could have been",
        "minor": "Put right on the spot, no treatment beyond first aid",
        "serious": "Somebody was hurt, missing or taken to a doctor",
    }
)
"""How bad, in words. A serious one is read by the manager the same day."""

CATEGORIES: Mapping[str, str] = MappingProxyType(
    {
        "technique": "Depth, gas, separation or technique",
        "ascent": "Ascent",
        "equipment": "Equipment",
        "injury_illness": "Injury or illness",
        "decompression": "Possible decompression illness",
        "surface_boat": "Surface and boats",
        "count": "Count or roll call",
        "other": "Other",
        "death": "Death",
    }
)
"""What kind, the commonest first: the groups of published national annual reports, and counts."""

PHASES: Mapping[str, str] = MappingProxyType(
    {
        "ashore": "Ashore",
        "pool": "Shallow part",
        "entry": "Going in",
        "descent": "Going down",
        "bottom": "At depth",
        "ascent": "Coming up",
        "surface": "At the surface",
        "after": "Afterwards",
    }
)


FIGURES: frozenset[str] = frozenset(
    one.key
    for one in (
        L.DEPTH_MAX_OPEN_WATER,
        L.DEPTH_PLAN_DEFAULT,
        L.DEPTH_MAX_CONFINED,
        L.PLAN_CURRENT,
        L.ASCENT_RATE_MAX,
        L.SEPARATION_SEARCH,
        L.END_PRESSURE_MIN,
        L.NO_PRESSURE_RISE,
    )
)
"""Rules whose incidents rest on a figure or a word of the dive's record, which may be put right later."""


@dataclass(frozen=True, slots=True)
class Draft:
    """An incident written by the program. rule: key of the limit or rule that was broken."""

    rule: str
    category: str
    severity: Severity
    phase: str
    what: str
    who: str = ""


@dataclass(frozen=True, slots=True)
class DiverRecord:
    """One diver's gas on the dive, bar gauge. reserve_bar: the reserve that was in force for this diver."""

    name: str
    end_bar: float | None
    reserve_bar: float | None
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class DiveRecord:
    """What was written down of a dive. None: not written down.

    ascent: "slower" when at or under the limit, "faster" when over it. separated: names of those who were
    lost from the group. wrong_counts: rounds of counting that did not agree. missing: the missing-person
    procedure ran.
    """

    where: Where
    planned_depth_m: float | None
    greatest_depth_m: float | None
    ascent: str | None
    separated: tuple[str, ...]
    wrong_counts: int
    missing: bool
    divers: tuple[DiverRecord, ...]


def found_by_program(dive: DiveRecord, limits: Limits) -> list[Draft]:
    """Every incident that the dive's own figures show. limits: those the dive ran under.

    A figure that was not written down makes no incident: closing the dive asks for it instead.
    """
    drafts = _depth(dive, limits)
    if dive.ascent == "faster":
        rate = _shown(limits[L.ASCENT_RATE_MAX])
        drafts.append(
            _draft(L.ASCENT_RATE_MAX, "ascent", "minor", "ascent", f"The way up was faster than {rate}.")
        )
    for name in dive.separated:
        what = f"{name} was separated from the group."
        drafts.append(_draft(L.SEPARATION_SEARCH, "technique", "serious", "bottom", what, name))
    if dive.missing:
        what = "The missing-person procedure ran."
        drafts.append(_draft(L.MISSING_SETTLED, "count", "serious", "surface", what))
    elif dive.wrong_counts:
        what = "A count did not agree with the names."
        drafts.append(_draft(L.COUNTS_AGREE, "count", "near-miss", "surface", what))
    for diver in dive.divers:
        drafts += _diver(diver)
    return drafts


def is_worse(severity: str, than: str) -> bool:
    """Whether one word for how bad says more than another; a word that is not known says most."""
    ranks: dict[str, int] = {word: rank for rank, word in enumerate(SEVERITIES)}
    return ranks.get(severity, len(ranks)) > ranks.get(than, len(ranks))


def is_serious(severity: str) -> bool:
    """Whether the manager must read it that day; a word that is not known counts as serious."""
    return severity not in {"near-miss", "minor"}


def _depth(dive: DiveRecord, limits: Limits) -> list[Draft]:
    deepest = dive.greatest_depth_m
    if deepest is None:
        return []
    limit = depth_in_force(limits, dive.where)
    if limit.number is None or deepest > limit.number:
        what = f"The dive went to {deepest:g} m; the limit was {_shown(limit)}."
        return [Draft(limit.key, "technique", "minor", "bottom", what)]
    if dive.planned_depth_m is not None and deepest > dive.planned_depth_m:
        what = f"The dive went to {deepest:g} m; the plan was {dive.planned_depth_m:g} m."
        return [_draft(L.PLAN_CURRENT, "technique", "near-miss", "bottom", what)]
    return []


def _diver(diver: DiverRecord) -> list[Draft]:
    drafts = []
    if diver.end_bar is not None and diver.reserve_bar is not None and diver.end_bar < diver.reserve_bar:
        what = (
            f"{diver.name} came back with {diver.end_bar:g} bar; the reserve was {diver.reserve_bar:g} bar."
        )
        drafts.append(_draft(L.END_PRESSURE_MIN, "technique", "near-miss", "ascent", what, diver.name))
    rises = [
        one
        for one in pressures_hold(diver.readings, diver.name).reasons
        if one.rule == L.NO_PRESSURE_RISE.key
    ]
    drafts += [
        _draft(
            L.NO_PRESSURE_RISE, "equipment", "near-miss", "bottom", f"{diver.name}: {one.found}.", diver.name
        )
        for one in rises
    ]
    return drafts


def _draft(rule: Limit, category: str, severity: Severity, phase: str, what: str, who: str = "") -> Draft:
    return Draft(rule.key, category, severity, phase, what, who)


def _shown(limit: InForce) -> str:
    return "not known" if limit.number is None else f"{limit.number:g} {limit.unit}"
