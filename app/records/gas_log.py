"""The day's gas: what each diver used, against the plan, and what went into the cylinders."""

import json
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlmodel import Session, col, select

from app.planning import air, consumption, profile
from app.planning.consumption import Sea
from app.planning.gas_account import Flow, bar_litres
from app.records.entry import DiverView, divers_of
from app.records.gas_account import day_entries, water_temps
from app.records.groups import GroupView, groups_of
from app.records.plans import newest_plans
from app.records.shop import limits_now, the_shop
from app.records.tables.cylinders import CompressorRow, CylinderRow, FillRow
from app.records.tables.groups import PlanRow
from app.records.tables.house import SiteRow
from app.records.water import DiveTimes, dive_times
from app.rules import limits as L
from app.rules.resolve import Limits


@dataclass(frozen=True)
class DiverLine:
    """One diver of one dive. None means not written down. Litres: dry air at 1.01325 bar and 15 C."""

    name: str
    part: str
    cylinder: str
    litres: float | None
    start_bar: float | None
    end_bar: float | None
    used_litres: float | None
    minutes: float | None
    rate_l_min: float | None
    planned_end_bar: float | None
    reserve_bar: float | None

    @property
    def used_bar_l(self) -> float | None:
        """What was breathed in bar.L: the same air at exactly 1 bar and 15 C."""
        return None if self.used_litres is None else bar_litres(self.used_litres)

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


@dataclass(frozen=True)
class DiveLines:
    """One group's dive of the day."""

    view: GroupView
    plan: PlanRow | None
    lines: tuple[DiverLine, ...]


@dataclass(frozen=True)
class FillLine:
    """One fill: litres put in, dry air at 1.01325 bar and 15 C."""

    row: FillRow
    number: str
    litres: float

    @property
    def bar_l(self) -> float:
        """The same in bar.L, at exactly 1 bar and 15 C."""
        return bar_litres(self.litres)


@dataclass(frozen=True)
class GasDay:
    """The day's account of gas."""

    dives: tuple[DiveLines, ...]
    fills: tuple[FillLine, ...]
    hours_first: CompressorRow | None
    hours_last: CompressorRow | None

    @property
    def used_litres(self) -> float:
        """Everything breathed that was written down."""
        return sum(line.used_litres or 0.0 for dive in self.dives for line in dive.lines)

    @property
    def used_bar_l(self) -> float:
        """The same in bar.L, at exactly 1 bar and 15 C."""
        return bar_litres(self.used_litres)

    @property
    def filled_bar_l(self) -> float:
        """Everything filled, in bar.L at exactly 1 bar and 15 C."""
        return bar_litres(self.filled_litres)

    @property
    def filled_litres(self) -> float:
        """Everything filled."""
        return sum(fill.litres for fill in self.fills)

    @property
    def hours(self) -> float | None:
        """Hours on the compressor's meter between the first and the last reading of the day."""
        if self.hours_first is None or self.hours_last is None:
            return None
        return self.hours_last.hours - self.hours_first.hours


def gas_day(session: Session, day: date) -> GasDay:
    """Return the gas of a day: dives in order of time, fills, compressor hours."""
    views = [view for view in groups_of(session, day) if view.group.entered_at is not None]
    plans = newest_plans(session, [view.id for view in views])
    everybody = [one for view in views for one in view.members]
    divers = {one.id: one for one in divers_of(session, everybody)}
    times = dive_times(session, divers)
    temps = water_temps(session, [view.slot.id or 0 for view in views])
    limits = limits_now(session)
    dives = []
    for view in views:
        sea = _sea(view.site, temps.get(view.slot.id or 0))
        plan = plans.get(view.id)
        planned = _planned(plan)
        lines = tuple(
            _line(divers[number], view, sea, times[number], planned.get(str(number)), limits)
            for number in (one.row.id or 0 for one in view.members)
            if number in times
        )
        dives.append(DiveLines(view, plan, lines))
    fills, first, last = _filled(session, day)
    return GasDay(tuple(dives), fills, first, last)


def _line(
    diver: DiverView,
    view: GroupView,
    sea: Sea,
    times: DiveTimes,
    planned: dict[str, float] | None,
    limits: Limits,
) -> DiverLine:
    start = None if diver.start is None else diver.start.bar
    end = None if diver.end is None else diver.end.bar
    litres = None if diver.cylinder is None else diver.cylinder.litres
    minutes = None if times.back is None else (times.back - times.went).total_seconds() / 60
    used = None
    if start is not None and end is not None and litres is not None and end <= start:
        used = litres * (_density(start, sea) - _density(end, sea))
    depth = view.group.greatest_depth_m
    rate = None
    if used is not None and minutes is not None and minutes > 1 and depth:
        rate = used / _grams_at_one_litre_a_minute(depth, minutes, sea, limits)
    return DiverLine(
        diver.name,
        diver.member.part,
        "" if diver.cylinder is None else diver.cylinder.number,
        litres,
        start,
        end,
        None if used is None else used / air.REFERENCE_DENSITY_G_L,
        minutes,
        rate,
        None if planned is None else planned.get("end_gauge_bar"),
        None if planned is None else planned.get("reserve_in_force_bar"),
    )


def _grams_at_one_litre_a_minute(depth_m: float, minutes: float, sea: Sea, limits: Limits) -> float:
    """Return the grams that 1 L/min would have used on a plain dive to the greatest depth in this time."""
    rate = limits[L.ASCENT_RATE_MAX].number or 9.0
    stop_m, stop_min = limits[L.SAFETY_STOP_DEPTH].number or 0, limits[L.SAFETY_STOP_MINUTES].number or 0
    up = profile.group_profile(depth_m, minutes, rate, rate, stop_m, stop_min)[-1][0] - minutes
    points = profile.group_profile(depth_m, max(minutes - up, minutes / 2), rate, rate, stop_m, stop_min)
    return consumption.mass_g(profile.segments(points, 1.0), sea)


def _density(gauge_bar: float, sea: Sea) -> float:
    return air.density(gauge_bar + sea.surface_bar, sea.temp_c)


def _sea(site: SiteRow, temp_c: float | None) -> Sea:
    return Sea(site.usual_temp_c if temp_c is None else temp_c, site.density_kg_m3, site.surface_pressure_bar)


def _planned(plan: PlanRow | None) -> dict[str, dict[str, float]]:
    if plan is None:
        return {}
    return {str(one["id"]): one for one in json.loads(plan.answer).get("divers", ())}


def _filled(
    session: Session, day: date
) -> tuple[tuple[FillLine, ...], CompressorRow | None, CompressorRow | None]:
    """Fills with what the gas account says went in, so that both say the same."""
    shop = the_shop(session)
    begin = datetime.combine(day, time(0), shop.zone)
    end = datetime.combine(day + timedelta(days=1), time(0), shop.zone)
    went_in: dict[tuple[str, datetime], float] = {}
    for entry in day_entries(session, day):
        if entry.flow is Flow.FILLED:
            place = (entry.cylinder, entry.at)
            went_in[place] = went_in.get(place, 0.0) + entry.litres
    found = (
        select(FillRow, CylinderRow)
        .join(CylinderRow, col(CylinderRow.id) == FillRow.cylinder_id)
        .where(col(FillRow.at) >= begin, col(FillRow.at) < end)
        .order_by(col(FillRow.at), col(FillRow.id))
    )
    fills = tuple(
        FillLine(row, cylinder.number, went_in.pop((str(cylinder.id), row.at), 0.0))
        for row, cylinder in session.exec(found)
    )
    at = col(CompressorRow.at)
    asked = select(CompressorRow).where(at >= begin, at < end).order_by(at, col(CompressorRow.id))
    hours = list(session.exec(asked))
    return fills, (hours[0] if hours else None), (hours[-1] if hours else None)
