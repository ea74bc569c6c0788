"""One line for each diver of a dive: what the gauges read, what it comes to, and what the plan had said."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from sqlmodel import Session

from app.planning import air
from app.planning.breathing import (
    REFERENCE_MASS_KG,
    UNKNOWN_WATER_C,
    LoggedDive,
    effective_minutes,
    end_at_rate,
    logged_rate_l_min,
)
from app.planning.gas_account import bar_litres
from app.planning.plan_gap import Gap, gap
from app.records.gas_room.gas_account import water_temps
from app.records.groups.groups import GroupView, group_view
from app.records.plans.logged_dives import mean_depth_m
from app.records.plans.plans import newest_plans
from app.records.store.problems import NotHere
from app.records.tables.groups import MemberRow, PlanRow
from app.records.water_side.entry import DiverView, divers_of
from app.records.water_side.water import DiveTimes, dive_times


@dataclass(frozen=True)
class PlannedDiver:
    """What the plan in force wrote for one diver: bar gauge, minutes surface to surface, m, L/min."""

    start_bar: float
    minutes: float
    mean_depth_m: float
    expected_rate_l_min: float
    careful_rate_l_min: float
    light_rate_l_min: float
    expected_end_bar: float | None
    careful_end_bar: float | None
    reserve_bar: float

    def as_dive(self, dived: LoggedDive) -> LoggedDive:
        """Return the plan as a dive in the same water with the same cylinder."""
        return replace(
            dived, start_bar=self.start_bar, minutes=self.minutes, mean_depth_m=self.mean_depth_m, end_bar=0.0
        )


@dataclass(frozen=True)
class DiverLine:
    """One diver of one dive. None means not written down. Litres: dry air at 1.01325 bar and 15 C.

    turn_bar: the last gauge read on the way, turn_minute: how long after going in. dived: all that a rate is
    worked out from, None while a figure is missing. planned: what the plan in force wrote for this diver.
    """

    member_id: int
    name: str
    part: str
    cylinder: str
    litres: float | None
    start_bar: float | None
    turn_bar: float | None
    turn_minute: float | None
    end_bar: float | None
    minutes: float | None
    greatest_depth_m: float | None
    dived: LoggedDive | None
    planned: PlannedDiver | None
    out: bool

    @property
    def used_litres(self) -> float | None:
        """What was breathed: the real air that left the cylinder."""
        return None if self.dived is None else used_litres(self.dived)

    @property
    def used_bar_l(self) -> float | None:
        """What was breathed in bar.L: the same air at exactly 1 bar and 15 C."""
        return None if self.used_litres is None else bar_litres(self.used_litres)

    @property
    def mean_depth_m(self) -> float | None:
        """The mean depth of a plain dive to the greatest one in the same time; None while unknown."""
        return None if self.dived is None or not self.greatest_depth_m else self.dived.mean_depth_m

    @property
    def settled_rate_l_min(self) -> float | None:
        """The rate that plans reckon with and that is learned from: after the first, higher minutes."""
        if self.dived is None or not self.greatest_depth_m or self.dived.minutes <= 1:
            return None
        return logged_rate_l_min(self.dived) if self.dived.end_bar < self.dived.start_bar else None

    @property
    def rate_l_min(self) -> float | None:
        """The mean breathing rate of the whole dive, in L/min at the diver's pressure."""
        settled = self.settled_rate_l_min
        if settled is None or self.dived is None:
            return None
        return settled * effective_minutes(self.dived.minutes) / self.dived.minutes

    @property
    def planned_end_bar(self) -> float | None:
        """The end pressure that the plan wrote on the cautious rate."""
        return None if self.planned is None else self.planned.careful_end_bar

    @property
    def reserve_bar(self) -> float | None:
        """The reserve in force for this diver's plan."""
        return None if self.planned is None else self.planned.reserve_bar

    @property
    def gap(self) -> Gap | None:
        """What explains the end pressure against the plan's expected one; None while a figure is missing."""
        if self.planned is None or self.settled_rate_l_min is None or self.dived is None:
            return None
        plan = self.planned
        return gap(plan.as_dive(self.dived), self.dived, plan.expected_rate_l_min, plan.expected_end_bar)

    @property
    def band_bar(self) -> tuple[float, float] | None:
        """Where nine of ten such dives end by the plan's own rates, for the dive that was dived."""
        if self.planned is None or self.settled_rate_l_min is None or self.dived is None:
            return None
        low, high = self.planned.careful_rate_l_min, self.planned.light_rate_l_min
        return end_at_rate(self.dived, low), end_at_rate(self.dived, high)

    @property
    def against_plan_bar(self) -> float | None:
        """How much more (+) or less (-) than the cautious plan came back, in bar."""
        if self.end_bar is None or self.planned_end_bar is None:
            return None
        return self.end_bar - self.planned_end_bar

    @property
    def under_reserve(self) -> bool:
        """Whether the diver came back with less than the reserve in force."""
        return self.end_bar is not None and self.reserve_bar is not None and self.end_bar < self.reserve_bar

    @property
    def missing(self) -> tuple[str, ...]:
        """Which figures nobody wrote down, once the diver is back."""
        if not self.out:
            return ()
        told = (
            ("cylinder", self.litres),
            ("start pressure", self.start_bar),
            ("end pressure", self.end_bar),
            ("greatest depth", self.greatest_depth_m),
        )
        return tuple(word for word, figure in told if figure is None)

    @property
    def outside_band(self) -> bool:
        """Whether the end lies where only one dive in ten ends."""
        band = self.band_bar
        return band is not None and self.end_bar is not None and not band[0] <= self.end_bar <= band[1]

    @property
    def odd(self) -> bool:
        """Whether somebody should look at this line first."""
        return self.under_reserve or self.outside_band or bool(self.missing)


@dataclass(frozen=True)
class DiveLines:
    """One group's dive of the day."""

    view: GroupView
    plan: PlanRow | None
    lines: tuple[DiverLine, ...]


def dives_of(session: Session, views: Sequence[GroupView]) -> list[DiveLines]:
    """Return the lines of groups that went in; the count of queries does not grow with them."""
    plans = newest_plans(session, [view.id for view in views])
    everybody = [one for view in views for one in view.members]
    divers = {one.id: one for one in divers_of(session, everybody)}
    times = dive_times(session, divers)
    temps = water_temps(session, [view.slot.id or 0 for view in views])
    dives = []
    for view in views:
        plan = plans.get(view.id)
        planned = _planned(plan)
        lines = tuple(
            _line(divers[number], view, temps.get(view.slot.id or 0), times[number], planned.get(str(number)))
            for number in (one.row.id or 0 for one in view.members)
            if number in times
        )
        dives.append(DiveLines(view, plan, lines))
    return dives


def _line(
    diver: DiverView,
    view: GroupView,
    measured_c: float | None,
    times: DiveTimes,
    planned: PlannedDiver | None,
) -> DiverLine:
    start = None if diver.start is None else diver.start.bar
    end = None if diver.end is None else diver.end.bar
    turn = diver.during
    litres = None if diver.cylinder is None else diver.cylinder.litres
    minutes = None if times.back is None else (times.back - times.went).total_seconds() / 60
    depth = view.group.greatest_depth_m
    dived = None
    if start is not None and end is not None and litres is not None and minutes is not None and end <= start:
        site = view.site
        mean = mean_depth_m(depth or 0.0, minutes, stopped=bool(view.group.stop_done))
        celsius = site.usual_temp_c if measured_c is None else measured_c
        dived = LoggedDive(
            start, end, litres, minutes, mean, REFERENCE_MASS_KG, None, celsius, site.density_kg_m3,
            site.surface_pressure_bar,
        )  # fmt: skip
    return DiverLine(
        member_id=diver.id,
        name=diver.name,
        part=diver.member.part,
        cylinder="" if diver.cylinder is None else diver.cylinder.number,
        litres=litres,
        start_bar=start,
        turn_bar=None if turn is None else turn.bar,
        turn_minute=None if turn is None else max(0.0, (turn.at - times.went).total_seconds() / 60),
        end_bar=end,
        minutes=minutes,
        greatest_depth_m=depth,
        dived=dived,
        planned=planned,
        out=times.back is not None,
    )


def used_litres(dive: LoggedDive) -> float:
    """Return the real air that left a cylinder during a dive, in litres at 1.01325 bar and 15 C."""
    celsius = UNKNOWN_WATER_C if dive.water_temp_c is None else dive.water_temp_c
    start, end = (air.density(bar + dive.surface_bar, celsius) for bar in (dive.start_bar, dive.end_bar))
    return dive.litres * (start - end) / air.REFERENCE_DENSITY_G_L


def _planned(plan: PlanRow | None) -> dict[str, PlannedDiver]:
    """Return what a frozen plan wrote, by diver; plans of the first release lack the light rate."""
    if plan is None:
        return {}
    case, answer = json.loads(plan.case), json.loads(plan.answer)
    rates = {str(one["id"]): one for one in case["case"]["divers"]}
    run = float(answer["run_min"])
    points = [(float(minute), float(depth)) for minute, depth in answer["waypoints"]]
    mean = sum((a[1] + b[1]) / 2 * (b[0] - a[0]) for a, b in pairwise(points)) / run if run else 0.0
    found = {}
    for one in answer["divers"]:
        told = rates[str(one["id"])]
        expected, careful = told["expected_rate_l_min"], told["cautious_rate_l_min"]
        found[str(one["id"])] = PlannedDiver(
            one["start_gauge_bar"],
            run,
            mean,
            expected,
            careful,
            told.get("light_rate_l_min") or expected * expected / careful,
            one.get("expected_end_gauge_bar"),
            one.get("end_gauge_bar"),
            one["reserve_in_force_bar"],
        )
    return found


def dive_line(session: Session, member_id: int) -> tuple[DiveLines, DiverLine]:
    """Return one diver's line with its dive; raises NotHere for nobody and for who never went in."""
    member = session.get(MemberRow, member_id)
    dives = [] if member is None else dives_of(session, [group_view(session, member.group_id)])
    for dive in dives:
        for line in dive.lines:
            if line.member_id == member_id:
                return dive, line
    raise NotHere(f"the dive of member {member_id}")
