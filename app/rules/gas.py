"""Pressures: what may be typed in, what a start needs, which reserve binds, and when gauges are next read."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import pairwise
from math import ceil
from typing import Literal

from app.rules import limits as L
from app.rules.decision import Decision, all_of
from app.rules.measure import must, within
from app.rules.people import Where
from app.rules.resolve import InForce, Limits

ReadingKind = Literal["fill", "check", "start", "turn", "end", "drained"]
"""What a pressure was read for. turn: any look at the gauges during the dive."""


class Level(StrEnum):
    """Impossible is refused with the range; unusual can be saved after a second look; fine is silent."""

    IMPOSSIBLE = "impossible"
    UNUSUAL = "unusual"
    FINE = "fine"


@dataclass(frozen=True, slots=True)
class Judgement:
    """How a typed pressure looks, and the sentence to show; empty when fine. rule: the limit it met."""

    level: Level
    sentence: str = ""
    rule: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """One look at one diver's gauge. bar: gauge pressure. cylinder_changed: a new cylinder since the last."""

    bar: float | None
    at: datetime
    cylinder_changed: bool = False


@dataclass(frozen=True, slots=True)
class SharingInputs:
    """The shop's side of the sharing-gas sum, for `app.planning`: people, factor, minutes, m/min, m, bar."""

    divers: int
    stress_factor: float
    reaction_min: float
    ascent_rate_m_min: float
    stop_depth_m: float
    stop_min: float
    residual_gauge_bar: float


def judge_pressure(
    bar: float, kind: ReadingKind, previous_bar: float | None, stamp_bar: float | None, limits: Limits
) -> Judgement:
    """Judge a complete typed pressure, bar gauge.

    previous_bar: the reading before it on the same cylinder, None if there is none. stamp_bar: working
    pressure, None if the cylinder is not known. A missing limit makes the value impossible to accept.
    """
    lowest = limits[L.GAUGE_LOWEST_START].number if kind in {"fill", "start"} else 0.0
    highest = limits[L.GAUGE_HIGHEST].number
    if lowest is None or highest is None or not lowest <= bar <= highest:
        low, high = _plain(lowest), _plain(highest)
        rule = L.GAUGE_LOWEST_START if lowest is not None and bar < lowest else L.GAUGE_HIGHEST
        sentence = f"{kind.capitalize()} pressure must be between {low} and {high} bar."
        return Judgement(Level.IMPOSSIBLE, sentence, rule.key)
    look = "Unusual. Check the gauge."
    if stamp_bar is not None and bar > stamp_bar:
        sentence = f"{look} The cylinder is stamped {stamp_bar:g} bar."
        return Judgement(Level.UNUSUAL, sentence, L.CYLINDER_NOT_ABOVE_STAMP.key)
    if kind in {"end", "turn"} and previous_bar is not None and bar > previous_bar:
        sentence = f"{look} It was {previous_bar:g} bar before."
        return Judgement(Level.UNUSUAL, sentence, L.NO_PRESSURE_RISE.key)
    for rule, met in (
        (L.GAUGE_UNUSUAL_START_BELOW, kind == "start" and _under(bar, limits[L.GAUGE_UNUSUAL_START_BELOW])),
        (L.GAUGE_UNUSUAL_END_BELOW, kind == "end" and _under(bar, limits[L.GAUGE_UNUSUAL_END_BELOW])),
        (L.GAUGE_UNUSUAL_DROP, kind in {"start", "turn", "end"} and _fell_far(previous_bar, bar, limits)),
    ):
        if met:
            return Judgement(Level.UNUSUAL, look, rule.key)
    return Judgement(Level.FINE)


def reserve_in_force(sharing_bar: float | None, limits: Limits) -> InForce:
    """The reserve, bar gauge: the larger of the reserve rule and the sharing gas rounded up to a full 10.

    sharing_bar: the pressure at which two people can still share to the surface; None leaves no reserve
    to plan with, so the plan is refused.
    """
    floor = limits[L.END_PRESSURE_MIN]
    step = limits[L.RESERVE_ROUNDING].number
    if sharing_bar is None or step is None or floor.number is None:
        return replace(floor, value=None, bound_by="sharing gas not known")
    # A sum that lands on a step within rounding noise is on it: 60.000000001 is not 70.
    rounded = ceil(round(sharing_bar / step, 9)) * step
    return floor if rounded <= floor.number else replace(floor, value=rounded, bound_by="sharing gas")


def may_start_at(bar: float | None, where: Where, limits: Limits, who: str) -> Decision:
    """Has this person's start pressure been read, and is it enough for this water?"""
    rule = L.START_PRESSURE_MIN if where == "open" else L.START_PRESSURE_MIN_CONFINED
    read = must(
        L.PRESSURE_READ,
        bar is not None,
        f"{who}'s start pressure has not been read. Read the gauge.",
        found="not read",
        needed="a reading",
        who=who,
    )
    enough = within(
        limits[rule],
        bar,
        unknown=f"{who}'s start pressure is not known. Read the gauge.",
        broken=f"{who}'s cylinder holds too little to start. Give {who} another cylinder.",
        who=who,
    )
    return read + enough


def pressures_hold(readings: tuple[Reading, ...], who: str) -> Decision:
    """Do one diver's pressures only fall, in order of time, except where the cylinder was changed?

    For checking a record; coming out of the water is never refused on it.
    """
    in_order = sorted(readings, key=lambda reading: reading.at)
    unread = all_of(
        must(
            L.PRESSURE_READ,
            reading.bar is not None,
            f"A pressure of {who} is missing. Read the gauge and enter it.",
            found="not read",
            needed="a reading",
            who=who,
        )
        for reading in in_order
    )
    return unread + all_of(
        must(
            L.NO_PRESSURE_RISE,
            now.cylinder_changed or before.bar is None or now.bar is None or now.bar <= before.bar,
            f"{who}'s pressure rose. Correct the reading or record the change of cylinder.",
            found=f"{_plain(before.bar)} then {_plain(now.bar)} bar",
            needed="falling",
            who=who,
        )
        for before, now in pairwise(in_order)
    )


def next_reading_due(last: datetime, limits: Limits) -> datetime:
    """When the gauges are looked at again (aware UTC); at once when no interval is set."""
    return last + timedelta(minutes=limits[L.PRESSURE_CHECK_INTERVAL].number or 0)


def should_turn(lowest_bar: float | None, turn_bar: float | None) -> bool:
    """Whether the group starts back: the lowest gauge is at or under the turn pressure, bar gauge.

    A gauge or a turn pressure that is not known turns the group.
    """
    return lowest_bar is None or turn_bar is None or lowest_bar <= turn_bar


def sharing_inputs(limits: Limits) -> SharingInputs | None:
    """The shop's values for the sharing-gas sum; None when any of them is missing."""
    keys = (
        L.SHARING_DIVERS,
        L.SHARING_STRESS_FACTOR,
        L.SHARING_REACTION_MINUTES,
        L.ASCENT_RATE_MAX,
        L.SAFETY_STOP_DEPTH,
        L.SAFETY_STOP_MINUTES,
        L.SHARING_RESIDUAL,
    )
    values = [limits[key].number for key in keys]
    divers, stress, reaction, rate, stop_depth, stop_min, residual = values
    if (
        divers is None
        or stress is None
        or reaction is None
        or rate is None
        or stop_depth is None
        or stop_min is None
        or residual is None
    ):
        return None
    return SharingInputs(int(divers), stress, reaction, rate, stop_depth, stop_min, residual)


def _under(bar: float, limit: InForce) -> bool:
    return limit.number is None or bar < limit.number


def _fell_far(previous: float | None, bar: float, limits: Limits) -> bool:
    most = limits[L.GAUGE_UNUSUAL_DROP].number
    return previous is not None and (most is None or previous - bar > most)


def _plain(bar: float | None) -> str:
    return "not known" if bar is None else f"{bar:g}"
