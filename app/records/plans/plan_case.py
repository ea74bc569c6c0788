"""A group's records as the case that planning works out, and what that case rests on.

A start pressure that a guide reads at the water replaces the gas room's figure in the case, but is no
change of the cylinder: an issued plan stays current as long as it still holds with the pressures read.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session, col, select

from app.planning.consumption import Sea
from app.planning.dive_day import earlier_dives
from app.planning.plan_parts import GroupCase, GroupDiver
from app.planning.sharing import Sharing
from app.records.gas_room.gauges import gauges
from app.records.groups.facts import group_facts, limits_of
from app.records.groups.groups import GUEST, GroupView, MemberView, group_view, newest_conditions
from app.records.plans.breathing_log import Learned
from app.records.plans.dive_history import DESCENT_M_MIN, PastDive, dives_before, minute_of, minutes_of
from app.records.plans.logged_dives import age_in_years
from app.records.store.house import House
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import CylinderOutRow
from app.records.tables.water import PressureRow
from app.rules import limits as L
from app.rules import plan_basis
from app.rules.decision import Decision, all_of
from app.rules.gas import sharing_inputs
from app.rules.groups import GroupFacts
from app.rules.resolve import Limits

# A gauge read without a thermometer is taken for a warm cylinder, which holds less (our own cautious choice).
UNMEASURED_TEMP_C = 30.0


@dataclass(frozen=True)
class Supply:
    """A diver's cylinder. bar, temp_c: as the gas room left it; start_bar: as read at the water, if so."""

    member: MemberView
    cylinder: CylinderRow | None
    bar: float | None
    temp_c: float | None
    start_bar: float | None

    @property
    def id(self) -> str:
        """How plans call this diver."""
        return str(self.member.row.id)


@dataclass(frozen=True)
class PlanBasis:
    """Everything a plan of a group rests on now. case: None while something has to be known first.

    learned: what is believed of breathing. It is no part of ``rests_on``: another dive logged changes it a
    little, and must not put every issued plan out of date. A plan stays while it holds with what is believed.
    """

    view: GroupView
    limits: Limits
    supplies: tuple[Supply, ...]
    learned: Learned
    missing: Decision
    case: GroupCase | None
    case_with_readings: GroupCase | None
    rests_on: dict[str, Any]


def plan_basis_of(
    session: Session, house: House, group_id: int, now: datetime, facts: GroupFacts | None = None
) -> PlanBasis:
    """Return what a plan of a group rests on; ``facts`` at hand are not read again; raises NotHere."""
    view = group_view(session, group_id)
    limits = limits_of(session, facts or group_facts(session, house, group_id, now))
    supplies, learned = _supplies(session, view), house.breathing.now(session)
    missing = all_of(
        (
            plan_basis.group_is_whole(view.guide is not None, len(view.guests)),
            plan_basis.limits_known(limits),
            *(
                plan_basis.cylinder_known(
                    one.member.name, None if one.cylinder is None else one.cylinder.number, one.bar
                )
                for one in supplies
            ),
        )
    )
    seen = newest_conditions(session, [view.slot.id]).get(view.slot.id or 0)
    temp = view.site.usual_temp_c if seen is None or seen.water_temp_c is None else seen.water_temp_c
    sea = Sea(temp, view.site.density_kg_m3, view.site.surface_pressure_bar)
    dives = dives_before(session, view, now)
    begins = max(view.slot.starts_at, now)
    whole = missing.allowed and view.group.depth_m > 0 and view.group.minutes > 0
    case = _case(view, limits, supplies, learned, sea, dives, begins, read=False) if whole else None
    readings = _case(view, limits, supplies, learned, sea, dives, begins, read=True) if whole else None
    rests_on = {
        "people": [[one.member.row.part, one.id, _mass_or_rate(one.member)] for one in supplies],
        "cylinders": [
            [
                one.id,
                one.cylinder and one.cylinder.id,
                one.cylinder and one.cylinder.litres,
                one.bar,
                one.temp_c,
            ]
            for one in supplies
        ],
        "water": [view.site.id, sea.temp_c, sea.density_kg_m3, sea.surface_bar, seen.grade if seen else None],
        "dive": [view.group.depth_m, view.group.minutes],
        "earlier": [
            [key, *(dive.as_record() for dive in found)] for key, found in sorted(dives.items()) if found
        ],
        "limits": plan_basis.limits_used(limits),
    }
    return PlanBasis(view, limits, supplies, learned, missing, case, readings, rests_on)


def _mass_or_rate(member: MemberView) -> float | None:
    if member.guest is not None:
        return member.guest.mass_kg
    return None if member.person is None else member.person.breathing_rate_l_min


def _supplies(session: Session, view: GroupView) -> tuple[Supply, ...]:
    ids = [one.row.id for one in view.members]
    found = (
        select(CylinderOutRow, CylinderRow)
        .join(CylinderRow, col(CylinderRow.id) == CylinderOutRow.cylinder_id)
        .where(col(CylinderOutRow.member_id).in_(ids), col(CylinderOutRow.back_at).is_(None))
    )
    outs = {out.member_id: (out, cylinder) for out, cylinder in session.exec(found)}
    held = gauges(session, [cylinder.id or 0 for _, cylinder in outs.values()], at_the_water=False)
    starts: dict[tuple[int, int], float] = {}
    read = select(PressureRow).where(col(PressureRow.member_id).in_(ids), PressureRow.moment == "start")
    for row in session.exec(read.order_by(col(PressureRow.id))):
        starts[row.member_id, row.cylinder_id] = row.bar
    supplies = []
    for one in view.members:
        _, cylinder = outs.get(one.row.id or 0, (None, None))
        if cylinder is None:
            supplies.append(Supply(one, None, None, None, None))
            continue
        gauge = held.get(cylinder.id or 0)
        start = starts.get((one.row.id or 0, cylinder.id or 0))
        bar = start if gauge is None else gauge.bar
        supplies.append(Supply(one, cylinder, bar, gauge.temp_c if gauge else None, start))
    return tuple(supplies)


def _case(
    view: GroupView,
    limits: Limits,
    supplies: tuple[Supply, ...],
    learned: Learned,
    sea: Sea,
    dives: dict[str, list[PastDive]],
    begins: datetime,
    *,
    read: bool,
) -> GroupCase | None:
    share = sharing_inputs(limits)
    if share is None:
        return None
    number = {limit.key: limits[limit].number or 0.0 for limit in plan_basis.USED}
    stops = view.group.depth_m >= number[L.SAFETY_STOP_FROM_DEPTH.key]
    return GroupCase(
        sea=sea,
        depth_m=view.group.depth_m,
        minutes=view.group.minutes,
        descent_m_min=DESCENT_M_MIN,
        ascent_m_min=number[L.ASCENT_RATE_MAX.key],
        stop_m=number[L.SAFETY_STOP_DEPTH.key] if stops else 0.0,
        stop_min=number[L.SAFETY_STOP_MINUTES.key] if stops else 0.0,
        turn_bar=number[L.TURN_PRESSURE.key],
        reserve_bar=number[L.END_PRESSURE_MIN.key],
        reserve_rounding_bar=number[L.RESERVE_ROUNDING.key],
        sharing=Sharing(
            share.divers,
            share.stress_factor,
            share.reaction_min,
            share.ascent_rate_m_min,
            share.stop_depth_m,
            share.stop_min,
            share.residual_gauge_bar,
        ),
        gradient_factor=number[L.NITROGEN_GRADIENT_FACTOR.key],
        divers=tuple(_diver(one, learned, dives.get(one.id, []), begins, sea, read=read) for one in supplies),
    )


def _diver(
    supply: Supply, learned: Learned, dives: list[PastDive], begins: datetime, sea: Sea, *, read: bool
) -> GroupDiver:
    member = supply.member
    guest, person = member.guest, member.person
    rates = (
        learned.guest(guest.id, guest.mass_kg, age_in_years(guest.birth_date, begins.date()), sea.temp_c)
        if guest
        else learned.guide(member.row.person_id, person.breathing_rate_l_min if person else None)
    )
    bar, temp = supply.bar, supply.temp_c
    if read and supply.start_bar is not None:
        bar, temp = supply.start_bar, None
    return GroupDiver(
        id=supply.id,
        name=member.name,
        litres=supply.cylinder.litres if supply.cylinder else 0.0,
        fill_gauge_bar=bar or 0.0,
        fill_temp_c=UNMEASURED_TEMP_C if temp is None else temp,
        cautious_rate_l_min=rates.high_l_min,
        expected_rate_l_min=rates.expected_l_min,
        light_rate_l_min=rates.low_l_min,
        is_guide=member.row.part != GUEST,
        earlier_dives=earlier_dives([minutes_of(one) for one in dives], minute_of(begins), DESCENT_M_MIN),
    )
