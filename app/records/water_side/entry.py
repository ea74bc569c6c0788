"""Everything that is asked before a group goes into the water, gathered for the one gate."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from app.records.gas_room import cylinders
from app.records.groups.facts import group_facts, guest_key, limits_of, member_key, staff_key
from app.records.groups.groups import GroupView, MemberView, group_view
from app.records.plans import plans
from app.records.setup.shop import closed_day, the_shop
from app.records.store.house import House
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.water import BriefingRow, PressureRow, SkillRow
from app.records.water_side import emergency_kit
from app.records.water_side.water import in_the_water
from app.rules import briefing
from app.rules.briefing import Answer
from app.rules.cylinders import CylinderFacts
from app.rules.readiness import DiverEntry, EntryFacts
from app.rules.resolve import Limits
from app.rules.sign_off import Mark, SkillMark

# Minutes from the start of the way up to the surface when no plan says so (pool-like water).
PLAIN_ASCENT_MIN = 5.0
VALUES = {item.key for item in (*briefing.BRIEFING, *briefing.KIT_CHECK) if item.limit is not None}


@dataclass(frozen=True)
class DiverView:
    """One member at the water: cylinder given, and every pressure read with it, oldest first."""

    member: MemberRow
    name: str
    key: str
    out: CylinderOutRow | None
    cylinder: CylinderFacts | None
    readings: tuple[PressureRow, ...]

    @property
    def id(self) -> int:
        """The member's number."""
        return self.member.id or 0

    @property
    def held(self) -> CylinderFacts | None:
        """The cylinder that the diver has now; None once it is back in the gas room."""
        return self.cylinder if self.out is not None and self.out.back_at is None else None

    @property
    def start(self) -> PressureRow | None:
        """The start pressure that counts."""
        return self.newest("start")

    @property
    def during(self) -> PressureRow | None:
        """The last pressure read on the way."""
        return self.newest("during")

    @property
    def end(self) -> PressureRow | None:
        """The end pressure that counts."""
        return self.newest("end")

    def newest(self, moment: str) -> PressureRow | None:
        """Return the reading of a moment that counts: the last to arrive."""
        return next((row for row in reversed(self.readings) if row.moment == moment), None)

    def put_right(self, moment: str) -> tuple[PressureRow, ...]:
        """Return the readings of a moment that were put right later, oldest first."""
        return tuple(row for row in self.readings if row.moment == moment)[:-1]


@dataclass(frozen=True)
class Entry:
    """A group about to go in, as shown and as asked."""

    view: GroupView
    facts: EntryFacts
    limits: Limits
    divers: tuple[DiverView, ...]
    plan: plans.PlanView | None


def entry(
    session: Session, house: House, group_id: int, now: datetime, going: Iterable[int] | None = None
) -> Entry:
    """Return what is asked of a group, or of those of its members who go in (member numbers)."""
    view = group_view(session, group_id)
    shop = the_shop(session)
    whole = group_facts(session, house, group_id, now)
    chosen = None if going is None else set(going)
    members = [one for one in view.members if chosen is None or one.row.id in chosen]
    keys = {member_key(one.row) for one in members}
    facts = replace(
        whole,
        guests=tuple(guest for guest in whole.guests if guest.id in keys),
        guide=whole.guide if whole.guide is not None and whole.guide.id in keys else None,
        assistant=whole.assistant if whole.assistant is not None and whole.assistant.id in keys else None,
    )
    divers = tuple(divers_of(session, members))
    plan = plans.current_plan(session, house, group_id, now, whole)
    guests = [one.row.guest_id for one in members if one.row.guest_id is not None]
    asked = EntryFacts(
        group=facts,
        divers=tuple(
            DiverEntry(one.key, one.name, one.held, None if one.start is None else one.start.bar)
            for one in divers
        ),
        answers=answers_of(session, group_id, shop.zone),
        marks=marks_of(session, guests, shop.zone),
        emergency_kit=emergency_kit.kit_facts(session, view.slot.day),
        issued_plan=None if plan is None else plan.row.fingerprint,
        plan_now=None if plan is None else (plan.row.fingerprint if plan.up_to_date else "changed"),
        planned_depth_m=None if plan is None else float(plan.case["depth_m"]),
        planned_minutes=None if plan is None else float(plan.case["minutes"]),
        surface_watch=None if view.surface_watch is None else view.surface_watch.name,
        safety_diver=None if view.safety_diver is None else view.safety_diver.name,
        in_water_now=keys_in_water(session),
        aborted=view.group.aborted_at is not None,
        already_entered=view.group.entered_at is not None,
        today=shop.day_of(now),
        day_signed_off=closed_day(session, view.slot.day) is not None,
        run_minutes=run_minutes(plan, view.group),
    )
    return Entry(view, asked, limits_of(session, facts), divers, plan)


def run_minutes(plan: plans.PlanView | None, group: GroupRow) -> float:
    """Return the minutes from going in until everybody is back at the surface, as planned."""
    return group.minutes + PLAIN_ASCENT_MIN if plan is None else float(plan.answer["run_min"])


def divers_of(session: Session, members: Iterable[MemberView]) -> list[DiverView]:
    """Return members with their cylinders and pressures, in the order given."""
    asked = list(members)
    ids = [one.row.id for one in asked]
    outs = {
        out.member_id: out
        for out in session.exec(
            select(CylinderOutRow)
            .where(col(CylinderOutRow.member_id).in_(ids))
            .order_by(col(CylinderOutRow.id))
        )
    }
    held = cylinders.cylinder_facts(session, [out.cylinder_id for out in outs.values()])
    read: dict[int, list[PressureRow]] = {}
    found = select(PressureRow).where(col(PressureRow.member_id).in_(ids)).order_by(col(PressureRow.id))
    for row in session.exec(found):
        out = outs.get(row.member_id)
        # A pressure read on an earlier cylinder says nothing about this one.
        if out is not None and row.cylinder_id == out.cylinder_id:
            read.setdefault(row.member_id, []).append(row)
    views = []
    for one in asked:
        out = outs.get(one.row.id or 0)
        cylinder = None if out is None else held.get(out.cylinder_id)
        readings = tuple(read.get(one.row.id or 0, ()))
        views.append(DiverView(one.row, one.name, member_key(one.row), out, cylinder, readings))
    return views


def answers_of(session: Session, group_id: int, zone: ZoneInfo) -> tuple[Answer, ...]:
    """Return every answer of the briefing and the kit check, in the order in which they came."""
    return answers_by_group(session, [group_id], zone).get(group_id, ())


def answers_by_group(
    session: Session, group_ids: Iterable[int], zone: ZoneInfo
) -> dict[int, tuple[Answer, ...]]:
    """Return every answer of groups, in the order in which they came, by group number."""
    asked = select(BriefingRow).where(col(BriefingRow.group_id).in_(list(group_ids)))
    groups: dict[int, tuple[Answer, ...]] = {}
    for row in session.exec(asked.order_by(col(BriefingRow.id))):
        day = row.at.astimezone(zone).date()
        told = Answer(row.item, _value(row), row.by, day, row.about, staff_key(row.by_id))
        groups[row.group_id] = (*groups.get(row.group_id, ()), told)
    return groups


def marks_of(session: Session, guest_ids: Iterable[int], zone: ZoneInfo) -> tuple[SkillMark, ...]:
    """Return every skill mark of guests, in the order in which they came."""
    found = select(SkillRow).where(col(SkillRow.guest_id).in_(list(guest_ids))).order_by(col(SkillRow.id))
    return tuple(
        SkillMark(
            guest_key(row.guest_id),
            row.skill,
            Mark(row.outcome) if row.outcome in set(Mark) else None,
            row.by,
            row.at.astimezone(zone).date(),
        )
        for row in session.exec(found)
    )


def keys_in_water(session: Session) -> frozenset[str]:
    """Return how the gates call everybody who is in the water now."""
    ids = [person.member_id for person in in_the_water(session)]
    found = select(MemberRow).where(col(MemberRow.id).in_(ids))
    return frozenset(member_key(member) for member in session.exec(found))


def _value(row: BriefingRow) -> str | float | None:
    if row.item not in VALUES:
        return row.answer or None
    try:
        return float(row.answer)
    except ValueError:
        return None
