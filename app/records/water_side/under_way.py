"""A group under water: what each diver's last gauge says of the end, and who reaches the turn first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import floor

from app.planning.breathing import Rates
from app.planning.consumption import Cylinder, Sea
from app.planning.cylinder import settled_gauge
from app.planning.rest_of_dive import FromStart, MidReading, Rest, from_start, rest_of_dive
from app.records.plans.plan_case import UNMEASURED_TEMP_C
from app.records.plans.plans import PlanView
from app.records.tables.water import PressureRow
from app.records.water_side.entry import DiverView
from app.records.water_side.water import DiveTimes


@dataclass(frozen=True)
class UnderWay:
    """One diver in the water. rest: what a reading on the way says; None while nobody read the gauge.

    turn_at: when the turn pressure is reached on the cautious rate, if the group stays; while nobody read on
    the way, from the start pressure. planned_low_bar: the careful end on the plan's rate from that start.
    """

    id: int
    name: str
    read: PressureRow | None
    minute: float
    rest: Rest | None
    turn_at: datetime
    reserve_at: datetime
    turn_minute: int
    minutes_left: int
    planned_low_bar: float
    at_turn: bool


def under_way(
    plan: PlanView, divers: Iterable[DiverView], times: Mapping[int, DiveTimes], now: datetime
) -> list[UnderWay]:
    """Return the divers of a group who are in the water under a plan, who turns first in front."""
    found = [
        one
        for diver in divers
        if (told := times.get(diver.id)) is not None and told.back is None
        if (one := _diver(plan, diver, told.went, now)) is not None
    ]
    return sorted(found, key=lambda one: (one.turn_at, one.id))


def _diver(plan: PlanView, diver: DiverView, went: datetime, now: datetime) -> UnderWay | None:
    case = next((one for one in plan.case["divers"] if one["id"] == str(diver.id)), None)
    gas = next((one for one in plan.answer["divers"] if one["id"] == str(diver.id)), None)
    if case is None or gas is None:
        return None
    rest, minute = _rest(plan, diver, case, gas, went), 0.0
    start = _from_start(plan, diver, case, gas)
    turn, reserve = start.turn_min, start.reserve_min
    if diver.during is not None:
        minute = (_read_at(diver.during, went) - went).total_seconds() / 60
    if rest is not None:
        turn, reserve = rest.turn_min, rest.reserve_min
    turn_at = went + timedelta(minutes=turn)
    return UnderWay(
        id=diver.id,
        name=diver.name,
        read=diver.during,
        minute=minute,
        rest=rest,
        turn_at=turn_at,
        reserve_at=went + timedelta(minutes=reserve),
        turn_minute=floor(turn),
        minutes_left=floor((turn_at - now).total_seconds() / 60),
        planned_low_bar=start.end_bar,
        at_turn=diver.during is not None and diver.during.bar <= plan.case["turn_bar"],
    )


def _from_start(
    plan: PlanView, diver: DiverView, case: Mapping[str, float], gas: Mapping[str, float]
) -> FromStart:
    """Return what the start carries: the plan's, or the gauge read at the edge where that says less.

    As on the plan page, a gauge read without a thermometer is taken for a warm cylinder.
    """
    sea, bar = _sea(plan), float(gas["start_gauge_bar"])
    if diver.start is not None:
        read = settled_gauge(diver.start.bar, UNMEASURED_TEMP_C, sea.temp_c, sea.surface_bar)
        bar = min(bar, read)
    return from_start(
        Cylinder(float(case["litres"]), bar),
        case["cautious_rate_l_min"],
        _waypoints(plan),
        float(plan.case["turn_bar"]),
        float(gas["reserve_in_force_bar"]),
        sea,
    )


def _rest(
    plan: PlanView, diver: DiverView, case: Mapping[str, float], gas: Mapping[str, float], went: datetime
) -> Rest | None:
    """Return what the last reading on the way says; None without one, or when it shows no gas used."""
    if diver.during is None or diver.start is None or diver.during.bar >= diver.start.bar:
        return None
    minute = (_read_at(diver.during, went) - went).total_seconds() / 60
    if minute <= 0:
        return None
    expected, careful = case["expected_rate_l_min"], case["cautious_rate_l_min"]
    # Plans from before there was a light rate: as far under the middle as the cautious one is over it.
    light = case.get("light_rate_l_min") or expected * expected / careful
    read = MidReading(diver.start.bar, diver.during.bar, float(case["litres"]), minute)
    turn, reserve = float(plan.case["turn_bar"]), float(gas["reserve_in_force_bar"])
    return rest_of_dive(
        Rates(expected, light, careful),
        read,
        _waypoints(plan),
        turn,
        reserve,
        _sea(plan),
    )


def _waypoints(plan: PlanView) -> list[tuple[float, float]]:
    return [(float(when), float(metres)) for when, metres in plan.answer["waypoints"]]


def _sea(plan: PlanView) -> Sea:
    sea = plan.case["sea"]
    return Sea(sea["temp_c"], sea["density_kg_m3"], sea["surface_bar"])


def _read_at(row: PressureRow, went: datetime) -> datetime:
    """Return when a gauge was read: as the device says, where that lies between going in and arrival."""
    return row.device_at if row.device_at is not None and went < row.device_at <= row.at else row.at
