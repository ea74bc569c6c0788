"""When somebody who dived may fly, and whether somebody who flies may still dive: the one place for it.

Hours count from the end of the dive and are real hours, whatever the clocks do meanwhile. Under the limit
nobody dives before a flight; between the limit and the advised hours it is said and the guest decides.
Going high counts as flying: a pass, a balloon, a mountain hut.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import ceil, floor
from typing import Literal

from app.planning.flying import before_flying
from app.rules import limits as L
from app.rules.decision import ALLOWED, Decision, Reason, all_of, note, refuse
from app.rules.measure import within
from app.rules.resolve import InForce, Limits, strictest

CABIN_HIGHER_M = 2438.4
"""Cabins are held at 8,000 ft at the highest: FAA, 14 CFR 25.841."""

CAUTION = "Driving over a pass or going up a mountain counts as flying: the same times hold."

Told = Literal["", "unknown", "none", "at", "from", "signed"]


@dataclass(frozen=True, slots=True)
class Flight:
    """What a guest said of the next flight. at: aware UTC.

    told: "" not asked, "unknown" asked and not known, "none" not flying, "at" at an instant, "from" at an
    instant or later, "signed" answered in the signed health questions of the day, which judge it.
    """

    told: Told = ""
    at: datetime | None = None

    @property
    def is_known(self) -> bool:
        """Whether it can be held against a dive."""
        return self.told in ("none", "signed") or (self.told in ("at", "from") and self.at is not None)


NOT_ASKED = Flight()
NOT_FLYING = Flight("none")


@dataclass(frozen=True, slots=True)
class DivesDone:
    """What somebody dived. dives: since the last long rest. group: the highest repetitive group of the navy
    table in the last 24 h; knows_group: False when the table has no figure after these dives."""

    surfaced_at: datetime
    dives: int
    group: str | None = None
    knows_group: bool = True


@dataclass(frozen=True, slots=True)
class FlyingTimes:
    """Clock times after which flying is allowed, and advised; hours: the wait that binds, and who asks it."""

    allowed_from: datetime
    advised_from: datetime
    hours: float
    rule: str
    bound_by: str


def no_fly_hours(dives: int | None, limits: Limits) -> InForce:
    """The hours to wait after this many dives; an unknown number counts as several."""
    single = limits[L.NO_FLY_SINGLE]
    return single if dives == 1 else strictest(limits[L.NO_FLY_REPEAT], single)


def flying_times(done: DivesDone, limits: Limits) -> FlyingTimes | None:
    """When may this diver fly? The longest of the limit, the 2002 workshop and the navy's altitude table.

    After dives that the table has no figure for, the advised hours bind. None while a limit has no value.
    """
    wait = no_fly_hours(done.dives, limits)
    advised = limits[L.NO_FLY_ADVISE]
    if wait.number is None or advised.number is None:
        return None
    hours, bound_by, rule = wait.number, wait.bound_by, wait.key
    if not done.knows_group and advised.number > hours:
        hours, bound_by, rule = advised.number, "navy table has no figure", advised.key
    published = before_flying(done.dives, done.group, CABIN_HIGHER_M, with_stops=not done.knows_group)
    if published.hours > hours:
        names = {"navy_table": "navy altitude table", "workshop_2002": "2002 workshop"}
        hours, bound_by = published.hours, names[published.bound_by]
    return FlyingTimes(
        _to_the_minute(done.surfaced_at + timedelta(hours=hours)),
        _to_the_minute(done.surfaced_at + timedelta(hours=max(hours, advised.number))),
        hours,
        rule,
        bound_by,
    )


def may_dive_before_flight(
    name: str,
    flight: Flight | None,
    surfaces_at: datetime,
    dives: int | None,
    limits: Limits,
    *,
    at_entry: bool = False,
) -> Decision:
    """May this guest still dive, back at the surface at an instant (aware UTC), before the flight told?

    dives: with this one. Under the limit it refuses, under the advised hours it is a note. A flight that
    nobody knows is a note until the water, and refuses there.
    """
    wait = no_fly_hours(dives, limits)
    if flight is None or not flight.is_known:
        text = f"Nobody knows when {name} flies. Ask, and write it down."
        unknown = Reason(wait.key, text, "not known", "a time, or not flying", "", wait.bound_by, name)
        return refuse(unknown) if at_entry else note(unknown)
    if flight.at is None or flight.told not in ("at", "from"):
        return ALLOWED
    hours = (flight.at - surfaces_at) / timedelta(hours=1)
    refused = within(
        wait,
        hours,
        unknown="",
        broken=f"{name} flies too soon after this dive. Choose an earlier time, another day, or no dive.",
        who=name,
    )
    advised = within(
        limits[L.NO_FLY_ADVISE],
        hours,
        unknown="",
        broken=f"{name} flies sooner after this dive than advised. Tell {name} before anything is settled.",
        who=name,
    )
    return _shown(refused if not refused.allowed else advised.as_notes(), hours)


def flight_after_dive(flight: Flight, times: FlyingTimes) -> Literal["unknown", "too soon", "sooner", "fits"]:
    """How the flight told stands to a dive that is done; "sooner": allowed, and sooner than advised."""
    if not flight.is_known:
        return "unknown"
    if flight.told not in ("at", "from") or flight.at is None:
        return "fits"
    if flight.at < times.allowed_from:
        return "too soon"
    return "sooner" if flight.at < times.advised_from else "fits"


def flights_fit(people: Iterable[tuple[str, Flight]], start: datetime, limits: Limits) -> Decision:
    """May these guests be booked for a slot that starts then? Its whole length counts as dive.

    A limit without a value counts a whole day.
    """
    ends = start + timedelta(minutes=limits[L.SLOT_LENGTH].number or 24 * 60)
    return all_of(may_dive_before_flight(name, flight, ends, 1, limits) for name, flight in people)


def _shown(decision: Decision, hours: float) -> Decision:
    """Round what was found down to a tenth of an hour: 17 h 59 min must not read as 18."""
    found = "before the dive ends" if hours < 0 else f"{floor(hours * 10) / 10:g}"
    return Decision(
        tuple(replace(reason, found=found) for reason in decision.reasons),
        tuple(replace(reason, found=found) for reason in decision.notes),
    )


def _to_the_minute(instant: datetime) -> datetime:
    """Round up to a full minute, as a clock shows it."""
    return datetime.fromtimestamp(ceil(instant.timestamp() / 60) * 60, instant.tzinfo)
