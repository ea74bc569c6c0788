"""May a group be changed now? Putting people together is planning; what went in the water stays as it was.

Source: Queensland Coroners Court, findings of 30 May 2018 (a dive ended by its instructor stays ended);
the rest is our own cautious choice.
"""

from dataclasses import replace
from datetime import datetime

from app.rules import limits as L
from app.rules.conditions import Conditions, Grade, grade_of
from app.rules.decision import ALLOWED, Decision, Reason, all_of, note
from app.rules.groups import GroupFacts, limits_in_force, may_form, overlapping, ratio_in_force
from app.rules.limits import Value
from app.rules.measure import must, within
from app.rules.people import Engagement
from app.rules.plan_check import depth_in_force
from app.rules.presets import Preset
from app.rules.resolve import InForce, Limits

_GOOD_WATER = Conditions(visibility_m=float("inf"), current_m_s=0.0, sea="calm", stated=Grade.GOOD)


def planned_limits(group: GroupFacts, preset: Preset, shop: dict[str, Value]) -> Limits:
    """Every limit to plan a group with. Open water that nobody has graded yet is planned as good.

    Groups are put together hours before somebody can look at the water. Entry asks the real water.
    """
    if group.conditions is None and group.where == "open":
        return limits_in_force(replace(group, conditions=_GOOD_WATER), preset, shop)
    limits = limits_in_force(group, preset, shop)
    planned = _as_planned(group, limits)
    return limits if planned is group else limits_in_force(planned, preset, shop)


def may_plan(group: GroupFacts, limits: Limits) -> Decision:
    """May this group be planned as it is? ``limits`` are those of `planned_limits`."""
    planned = _as_planned(group, limits)
    text = "Nobody has looked at the water yet. This group is planned for good water."
    key = L.CONDITIONS_GRADED.key
    ungraded = note(Reason(key, text, "not graded", "graded before anybody goes in", "", "hard limit"))
    return may_form(planned, limits) + (ALLOWED if planned is group else ungraded)


def planned_ratio(group: GroupFacts, limits: Limits) -> InForce:
    """How many guests this guide may hold as planned, and who bound it."""
    return ratio_in_force(_as_planned(group, limits), limits)


def planned_dive_fits(depth_m: float, minutes: float, group: GroupFacts, limits: Limits) -> Decision:
    """Are a depth in metres and the minutes under water within what this group may do?"""
    return within(
        depth_in_force(limits, group.where),
        depth_m,
        unknown="The group has no depth. Enter the depth.",
        broken="The depth is too much for this group. Plan a shallower dive.",
    ) + within(
        limits[L.BOTTOM_TIME_MAX],
        minutes,
        unknown="The group has no time. Enter the minutes.",
        broken="The time is too long for this group. Plan fewer minutes.",
    )


def may_change_people(entered: bool, aborted: bool, closed: bool) -> Decision:
    """May people still be put into this group, or its guide be changed?"""
    return all_of(
        (
            must(
                L.ABORT_IS_FINAL,
                not aborted,
                "The instructor called this dive off. Make another group.",
                found="called off",
                needed="not called off",
            ),
            must(
                L.ENTRY_STILL_OPEN,
                not entered and not closed,
                "This group already went in. Make another group.",
                found="went in",
                needed="not gone in",
            ),
        )
    )


def may_leave(name: str, event: str) -> Decision:
    """May a member be taken out of a group? event: the newest water event, "" while there is none.

    Who went in stays in the group's list until back, and in its record after that.
    """
    return must(
        L.ROLL_CALL_BY_NAME,
        event not in {"in", "back"},
        f"{name} is in the water with this group. Bring {name} back first."
        if event == "in"
        else f"{name} dived with this group and stays in its record.",
        found="in the water" if event == "in" else "dived",
        needed="not gone in",
        who=name,
    )


def may_stand_ashore(
    name: str,
    in_this_group: bool,
    diving: tuple[Engagement, ...],
    start: datetime,
    end: datetime,
    limits: Limits,
) -> Decision:
    """May this person watch from the surface or stand ready, from start to end (aware UTC)?

    diving: the groups with which the person is in the water that day.
    """
    busy = overlapping(diving, start, end, limits[L.SLOT_GAP].number or 0)
    where = "this group" if in_this_group else (busy[0].label if busy else "")
    return must(
        L.NO_OVERLAP,
        not in_this_group and not busy,
        f"{name} is in the water with {where} at that time. Choose somebody else.",
        found=where,
        needed="ashore",
        who=name,
    )


def _as_planned(group: GroupFacts, limits: Limits) -> GroupFacts:
    if group.where == "confined" or grade_of(group.conditions, limits) is not None:
        return group
    return replace(group, conditions=_GOOD_WATER)
