"""May this group enter the water now? Every gate is asked again, together, at the last moment.

A fact that is not known refuses like a wrong one. The answer carries every reason, so that all of it can
be put right in one go. The program never says that a dive is safe; the instructor decides.
"""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from app.rules import briefing, conditions, cylinders, gas, guide_day, plan_check, sign_off
from app.rules import limits as L
from app.rules.briefing import Answer
from app.rules.cylinders import CylinderFacts
from app.rules.decision import Decision, Reason, all_of, refuse
from app.rules.emergency_gate import EmergencyKitFacts, emergency_kit_ready
from app.rules.groups import GroupFacts, flights_hold, may_form
from app.rules.limits import Limit
from app.rules.measure import must, within
from app.rules.people import GuestFacts
from app.rules.resolve import Limits
from app.rules.shore_look import looked_at_on_shore
from app.rules.sign_off import SkillMark


@dataclass(frozen=True, slots=True)
class DiverEntry:
    """One member of the group about to go in: guide, assistant or guest. start_bar: as read off the gauge."""

    person_id: str
    name: str
    cylinder: CylinderFacts | None
    start_bar: float | None


@dataclass(frozen=True, slots=True)
class EntryFacts:
    """Everything that is asked before the water.

    issued_plan, plan_now: marks of `plan_check.fingerprint`, of the issued plan and of what is so now.
    planned_depth_m, planned_minutes: of the issued plan. run_minutes: from going in until back up.
    surface_watch, safety_diver: names; None while nobody is named.
    in_water_now: ids of everybody in the water in any group; None while not looked up.
    aborted: whether the instructor ended this dive. already_entered: whether the group went in before.
    today: the shop's date now. day_signed_off: whether the manager closed the group's day.
    """

    group: GroupFacts
    divers: tuple[DiverEntry, ...]
    answers: tuple[Answer, ...]
    marks: tuple[SkillMark, ...]
    emergency_kit: EmergencyKitFacts | None
    issued_plan: str | None
    plan_now: str | None
    planned_depth_m: float | None
    planned_minutes: float | None
    surface_watch: str | None
    safety_diver: str | None
    in_water_now: frozenset[str] | None
    aborted: bool | None
    already_entered: bool | None
    today: date | None
    day_signed_off: bool | None
    run_minutes: float | None = None


def may_enter_water(facts: EntryFacts, limits: Limits, now: datetime) -> Decision:
    """May the group go in at `now` (aware UTC)? Pool-like water asks for no plan, grade or skills."""
    group = facts.group
    gates = [
        may_form(group, limits, at_entry=True),
        _not_ended(facts),
        _that_day(facts),
        _watchers(facts, limits),
        emergency_kit_ready(facts.emergency_kit, limits, group.day),
        briefing.briefing_complete(facts.answers, limits, group.day),
        *(_diver_ready(diver, facts, limits) for diver in facts.divers),
        _everyone_listed(facts),
        *(looked_at_on_shore(guest, group.day) for guest in group.guests),
        *(_rested(guest, limits, now) for guest in group.guests),
        flights_hold(group, _surfaces_at(facts, limits, now), limits, at_entry=True),
    ]
    if group.where == "open":
        names = {guest.id: guest.name for guest in group.guests}
        gates += [
            guide_day.dives_are_known(
                tuple(one for one in (group.guide, group.assistant) if one is not None)
            ),
            conditions.may_dive_open(group.conditions, limits, group.day),
            plan_check.still_current(facts.issued_plan, facts.plan_now),
            _plan_within_limits(facts, limits),
            sign_off.group_may_go_open(names, facts.marks, group.day, limits),
        ]
    return all_of(gates)


def _not_ended(facts: EntryFacts) -> Decision:
    ended = must(
        L.ABORT_IS_FINAL,
        facts.aborted is False,
        "The instructor ended this dive. Make a new group for another day.",
        found="ended" if facts.aborted else "not known",
        needed="not ended",
    )
    return ended + must(
        L.ENTRY_STILL_OPEN,
        facts.already_entered is False,
        "This group went in before. Make a new group for a second dive.",
        found="went in" if facts.already_entered else "not known",
        needed="not yet in",
    )


def _that_day(facts: EntryFacts) -> Decision:
    day = must(
        L.ENTRY_STILL_OPEN,
        facts.today == facts.group.day,
        "This group is not for today. Make a group for today.",
        found="not known" if facts.today is None else facts.today.isoformat(),
        needed=facts.group.day.isoformat(),
    )
    return day + must(
        L.DIVE_CLOSED,
        facts.day_signed_off is False,
        "The manager signed this day off. Nobody goes in any more.",
        found="signed off" if facts.day_signed_off else "not known",
        needed="not signed off",
    )


def _watchers(facts: EntryFacts, limits: Limits) -> Decision:
    in_group = {diver.name for diver in facts.divers}
    rows: tuple[tuple[Limit, str, str | None], ...] = (
        (L.SURFACE_WATCH_REQUIRED, "the surface watch", facts.surface_watch),
        (L.SAFETY_DIVER_REQUIRED, "the safety diver", facts.safety_diver),
    )
    reasons = [
        Reason(
            rule.key,
            f"Nobody outside the group is named as {what}. Choose somebody.",
            name or "nobody",
            "a named person who stays out",
            "",
            limits[rule].bound_by,
        )
        for rule, what, name in rows
        if limits[rule].required and (not name or name in in_group)
    ]
    return refuse(*reasons)


def _diver_ready(diver: DiverEntry, facts: EntryFacts, limits: Limits) -> Decision:
    group = facts.group
    kit = briefing.kit_checked(facts.answers, limits, group.day, diver.person_id, diver.name)
    elsewhere = must(
        L.NO_OVERLAP,
        facts.in_water_now is not None and diver.person_id not in facts.in_water_now,
        f"{diver.name} is in the water, or nobody knows. Look at the water list.",
        found="not known" if facts.in_water_now is None else "in the water",
        needed="ashore",
        who=diver.name,
    )
    pressure = gas.may_start_at(diver.start_bar, group.where, limits, diver.name)
    if diver.cylinder is None:
        text = f"{diver.name} has no cylinder. Give one out."
        none = Reason(L.CYLINDER_GIVEN.key, text, "none", "a cylinder", "", "hard limit", diver.name)
        return all_of((kit, elsewhere, pressure, refuse(none)))
    # A pressure that was not read refuses above; the cylinder is then judged as it was last known.
    read = diver.cylinder if diver.start_bar is None else replace(diver.cylinder, gauge_bar=diver.start_bar)
    cylinder = cylinders.may_give(
        read,
        limits,
        group.day,
        group.start,
        group.end,
        group.where,
        to=diver.name,
    )
    return all_of((kit, elsewhere, pressure, cylinder))


def _everyone_listed(facts: EntryFacts) -> Decision:
    """Each member once, each with a cylinder of its own: nobody goes in who was not looked at."""
    group = facts.group
    members = {guest.id: guest.name for guest in group.guests}
    members |= {staff.id: staff.name for staff in (group.guide, group.assistant) if staff is not None}
    listed = [diver.person_id for diver in facts.divers]
    held = [diver.cylinder.id for diver in facts.divers if diver.cylinder is not None]
    unlisted = all_of(
        must(
            L.CYLINDER_GIVEN,
            listed.count(person) == 1,
            f"{name} is not on the list for the water. Give {name} a cylinder.",
            found=f"{listed.count(person)} times",
            needed="once",
            who=name,
        )
        for person, name in members.items()
    )
    strangers = all_of(
        must(
            L.GUESTS_IN_GROUP,
            diver.person_id in members,
            f"{diver.name} is not in this group. Take {diver.name} off the list.",
            found="not in the group",
            needed="in the group",
            who=diver.name,
        )
        for diver in facts.divers
    )
    shared = must(
        L.CYLINDER_FREE,
        len(set(held)) == len(held),
        "Two people have the same cylinder. Give one of them another.",
        found="one cylinder twice",
        needed="one each",
    )
    return all_of((unlisted, strangers, shared))


def _rested(guest: GuestFacts, limits: Limits, now: datetime) -> Decision:
    name = guest.name
    before = guest.dives_today
    count = within(
        limits[L.DIVES_PER_GUEST_PER_DAY],
        None if before is None else before + 1,
        unknown=f"Nobody knows whether {name} dived today. Ask and enter it.",
        broken=f"{name} has dived often enough today. Offer another day.",
        who=name,
    )
    if before == 0:
        return count
    out = guest.last_surfaced_at
    minutes = None if out is None else (now - out).total_seconds() / 60
    return count + within(
        limits[L.SURFACE_INTERVAL_MIN],
        minutes,
        unknown=f"Nobody knows when {name} surfaced. Enter the time.",
        broken=f"{name} has been out of the water too short a time. Wait.",
        who=name,
    )


def _surfaces_at(facts: EntryFacts, limits: Limits, now: datetime) -> datetime:
    """When the group is back if it goes in now: a group that is late is back later than its slot says."""
    minutes = limits[L.SLOT_LENGTH].number if facts.run_minutes is None else facts.run_minutes
    return now + timedelta(minutes=minutes or 24 * 60)


def _plan_within_limits(facts: EntryFacts, limits: Limits) -> Decision:
    """The plan's figures once more against what binds now: an edit after issuing must not slip through."""
    depth = within(
        plan_check.depth_in_force(limits, facts.group.where),
        facts.planned_depth_m,
        unknown="The plan's depth is not known. Issue a plan.",
        broken="The plan is too deep for this group now. Plan again.",
    )
    time = within(
        limits[L.BOTTOM_TIME_MAX],
        facts.planned_minutes,
        unknown="The plan's time is not known. Issue a plan.",
        broken="The plan is too long for this group now. Plan again.",
    )
    return depth + time
