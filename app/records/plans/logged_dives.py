"""Closed dives and earlier dives from paper, as breathing rates are learned from them.

A group's greatest depth is logged, not its mean depth: the mean is that of a plain dive to the greatest
depth in the diver's own time, down and up at the usual rate, with the stop where it was done.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from itertools import pairwise
from typing import Any

from sqlalchemy import func, select
from sqlmodel import Session, col

from app.planning import profile
from app.planning.breathing import REFERENCE_MASS_KG, LoggedDive, logged_rate_l_min
from app.records.tables.breathing import EarlierDiveRow, EarlierTakenBackRow
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import ConditionsRow, GuestRow, SlotRow
from app.records.tables.water import PressureRow, WaterEventRow
from app.records.water_side.water import times_told
from app.rules import limits as L
from app.rules.logged_dive import may_teach
from app.rules.resolve import Limits

# A plain dive: what everybody comes up with, and the stop as the rules ship it.
RATE_M_MIN = float(str(L.ASCENT_RATE_MAX.value))
STOP_M, STOP_MIN = float(str(L.SAFETY_STOP_DEPTH.value)), float(str(L.SAFETY_STOP_MINUTES.value))
NOON = time(12, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Entry:
    """One dive of the log. rate_l_min: settled, at the diver's pressure; None when it teaches nothing.

    member_id: None for an earlier dive from paper. left_out: why it teaches nothing, "" when it does.
    """

    key: tuple[str, int]
    at: datetime
    dive: LoggedDive
    rate_l_min: float | None
    left_out: str = ""
    member_id: int | None = None
    guest_id: int | None = None
    person_id: int | None = None

    @property
    def place(self) -> tuple[datetime, tuple[str, int]]:
        """Its place in the order of time."""
        return self.at, self.key

    @property
    def teaches(self) -> bool:
        """Whether it teaches what to expect of guests."""
        return self.rate_l_min is not None and self.person_id is None


def closed_dives(session: Session, limits: Limits, members: Collection[int] | None = None) -> list[Entry]:
    """Return every closed dive (or those of some members) with all its figures, staff's too; five queries.

    A dive without start or end pressure, cylinder or times is not in the answer.
    """
    whom = _rows(
        session,
        select(
            col(MemberRow.id), col(MemberRow.guest_id), col(MemberRow.person_id), col(GuestRow.mass_kg),
            col(GuestRow.birth_date), col(GroupRow.greatest_depth_m), col(GroupRow.depth_m),
            col(GroupRow.stop_done), func.coalesce(_measured_temp_c(), col(SiteRow.usual_temp_c)),
            col(SiteRow.density_kg_m3), col(SiteRow.surface_pressure_bar),
        )
        .select_from(MemberRow)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .join(GuestRow, col(GuestRow.id) == MemberRow.guest_id, isouter=True),
        members,
    )  # fmt: skip
    outs = {member: (cylinder, litres) for member, cylinder, litres in _outs(session, members)}
    bars: dict[tuple[int, str], float] = {}
    for member, cylinder, moment, bar in _pressures(session, members):
        # A pressure read on an earlier cylinder says nothing about this one.
        if member in outs and outs[member][0] == cylinder:
            bars[member, moment] = bar
    times = times_told(_events(session, members))
    found = []
    for member, guest, person, mass, born, greatest, planned, stop, water, density, surface in whom:
        start, end, told = bars.get((member, "start")), bars.get((member, "end")), times.get(member)
        if start is None or end is None or told is None or told.back is None or member not in outs:
            continue
        minutes = (told.back - told.went).total_seconds() / 60
        depth = mean_depth_m(planned if greatest is None else greatest, minutes, stopped=bool(stop))
        age = None if born is None else age_in_years(born, told.went.date())
        litres = outs[member][1]
        kg = mass or REFERENCE_MASS_KG
        dive = LoggedDive(start, end, litres, minutes, depth, kg, age, water, density, surface)
        rate, why = judged(dive, limits)
        found.append(Entry(("dive", member), told.went, dive, rate, why, member, guest, person))
    return found


def earlier_dives(session: Session, limits: Limits) -> list[Entry]:
    """Return the earlier dives from paper that still count, each at noon of its day; one query."""
    gone = select(col(EarlierTakenBackRow.batch_id))
    asked = select(
        col(EarlierDiveRow.id), col(EarlierDiveRow.dived_on), col(EarlierDiveRow.start_bar),
        col(EarlierDiveRow.end_bar), col(EarlierDiveRow.litres), col(EarlierDiveRow.minutes),
        col(EarlierDiveRow.mean_depth_m), col(EarlierDiveRow.mass_kg), col(EarlierDiveRow.water_temp_c),
    ).where(col(EarlierDiveRow.batch_id).not_in(gone))  # fmt: skip
    found = []
    for number, day, start, end, litres, minutes, depth, mass, water in session.execute(asked):
        dive = LoggedDive(start, end, litres, minutes, depth, mass, None, water)
        rate, why = judged(dive, limits)
        found.append(Entry(("earlier", number), datetime.combine(day, NOON), dive, rate, why))
    return found


def usual_water_c(session: Session) -> float | None:
    """Return the usual temperature in °C of the shop's open water, all sites alike; None without a site."""
    asked = select(func.avg(col(SiteRow.usual_temp_c))).where(col(SiteRow.confined).is_(False))
    usual = session.execute(asked.where(col(SiteRow.active))).scalar()
    return None if usual is None else float(usual)


def age_in_years(born: date, day: date) -> float:
    """Return an age in years, with its fraction, as breathing rates are learned by it."""
    return (day - born).days / 365.25


def judged(dive: LoggedDive, limits: Limits) -> tuple[float | None, str]:
    """Return the rate of a dive in L/min, or None and why it teaches nothing."""
    rate = logged_rate_l_min(dive) if dive.start_bar > dive.end_bar and dive.minutes > 0 else None
    asked = may_teach(dive.start_bar, dive.end_bar, dive.minutes, rate, limits)
    return (rate, "") if asked.allowed else (None, asked.reasons[0].text)


def mean_depth_m(greatest_m: float, minutes: float, *, stopped: bool) -> float:
    """Return the mean depth in m of a plain dive of so many minutes to a greatest depth."""
    if greatest_m <= 0 or minutes <= 0:
        return 0.0
    points = plain_dive(greatest_m, minutes, stopped=stopped)
    area = sum((one[1] + two[1]) / 2 * (two[0] - one[0]) for one, two in pairwise(points))
    return area / points[-1][0]


def plain_dive(greatest_m: float, minutes: float, *, stopped: bool) -> tuple[tuple[float, float], ...]:
    """Return the waypoints (minute, m) of a plain dive that is back at the surface after so many minutes."""
    stop_min = STOP_MIN if stopped and greatest_m > STOP_M else 0.0
    up = greatest_m / RATE_M_MIN + stop_min
    if minutes <= up + greatest_m / RATE_M_MIN:
        return ((0.0, 0.0), (minutes / 2, greatest_m), (minutes, 0.0))
    return profile.group_profile(greatest_m, minutes - up, RATE_M_MIN, RATE_M_MIN, STOP_M, stop_min)


def _measured_temp_c() -> Any:
    """The water's temperature as last measured for the slot of a group, in C, as a part of a query."""
    return (
        select(col(ConditionsRow.water_temp_c))
        .where(col(ConditionsRow.slot_id) == GroupRow.slot_id, col(ConditionsRow.water_temp_c).is_not(None))
        .order_by(col(ConditionsRow.id).desc())
        .limit(1)
        .correlate(GroupRow)
        .scalar_subquery()
    )


def _outs(session: Session, members: Collection[int] | None) -> Any:
    asked = (
        select(col(CylinderOutRow.member_id), col(CylinderOutRow.cylinder_id), col(CylinderRow.litres))
        .select_from(CylinderOutRow)
        .join(CylinderRow, col(CylinderRow.id) == CylinderOutRow.cylinder_id)
        .join(MemberRow, col(MemberRow.id) == CylinderOutRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
    )
    return _rows(session, asked.order_by(col(CylinderOutRow.id)), members)


def _pressures(session: Session, members: Collection[int] | None) -> Any:
    asked = (
        select(
            col(PressureRow.member_id), col(PressureRow.cylinder_id), col(PressureRow.moment),
            col(PressureRow.bar),
        )
        .select_from(PressureRow)
        .join(MemberRow, col(MemberRow.id) == PressureRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .where(col(PressureRow.moment).in_(("start", "end")))
    )  # fmt: skip
    return _rows(session, asked.order_by(col(PressureRow.id)), members)


def _events(session: Session, members: Collection[int] | None) -> Any:
    asked = (
        select(col(WaterEventRow.member_id), col(WaterEventRow.event), col(WaterEventRow.happened_at))
        .select_from(WaterEventRow)
        .join(MemberRow, col(MemberRow.id) == WaterEventRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
    )
    return _rows(session, asked.order_by(col(WaterEventRow.id)), members)


def _rows(session: Session, asked: Any, members: Collection[int] | None) -> Any:
    asked = asked.where(col(GroupRow.closed_at).is_not(None))
    if members is not None:
        asked = asked.where(col(MemberRow.id).in_(members))
    return session.execute(asked)
