"""May a dive plan be issued, and is the issued one still the plan for this group?

Issuing freezes the plan with the limits it ran under. It never says that a dive is safe: it says which
limit would be broken, and the instructor decides the rest.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from app.rules import limits as L
from app.rules.decision import ALLOWED, Decision, Reason, all_of, refuse
from app.rules.gas import reserve_in_force
from app.rules.measure import must, within
from app.rules.people import Where
from app.rules.resolve import InForce, Limits, strictest


@dataclass(frozen=True, slots=True)
class PersonGas:
    """One diver's gas on the plan, bar gauge at water temperature.

    end_bar: at the surface, on the cautious breathing rate; None when the gas does not last or is not known.
    sharing_bar: pressure at which two can still share to the surface, not rounded.
    """

    name: str
    start_bar: float | None
    end_bar: float | None
    sharing_bar: float | None


@dataclass(frozen=True, slots=True)
class PlanProposal:
    """A worked-out plan. no_stop_left_min: when the way up begins; infinity when nothing limits it.

    turn_bar: the pressure at which all start back. stop_min, stop_depth_m: the safety stop, 0 for none.
    """

    where: Where
    depth_m: float | None
    minutes: float | None
    ascent_m_min: float | None
    turn_bar: float | None
    stop_min: float | None
    stop_depth_m: float | None
    no_stop_left_min: float | None
    gas: tuple[PersonGas, ...]


def depth_in_force(limits: Limits, where: Where) -> InForce:
    """How deep this group may plan, in metres, and who bound it."""
    if where == "confined":
        return limits[L.DEPTH_MAX_CONFINED]
    return strictest(limits[L.DEPTH_MAX_OPEN_WATER], limits[L.DEPTH_PLAN_DEFAULT])


def may_issue(plan: PlanProposal, limits: Limits) -> Decision:
    """May this plan be issued? Every limit it would break is a reason of its own."""
    return all_of(
        (
            within(
                depth_in_force(limits, plan.where),
                plan.depth_m,
                unknown="The plan has no depth. Enter the depth.",
                broken="The plan is too deep for this group. Plan a shallower dive.",
            ),
            within(
                limits[L.BOTTOM_TIME_MAX],
                plan.minutes,
                unknown="The plan has no time. Enter the minutes.",
                broken="The plan is too long for this group. Plan fewer minutes.",
            ),
            within(
                limits[L.ASCENT_RATE_MAX],
                plan.ascent_m_min,
                unknown="The plan has no ascent rate. Enter it.",
                broken="The way up is too fast. Plan a slower ascent.",
            ),
            within(
                limits[L.TURN_PRESSURE],
                plan.turn_bar,
                unknown="The plan has no turn pressure. Enter it.",
                broken="The group would turn too late. Plan a higher turn pressure.",
            ),
            _stop_planned(plan, limits),
            _no_stop_left(plan, limits),
            _everyone_on_plan(plan),
            *(_gas_lasts(person, limits) for person in plan.gas),
        )
    )


def fingerprint(inputs: Mapping[str, Any]) -> str:
    """A short mark of everything a plan rests on: the same inputs give the same mark, in any order.

    inputs: JSON-able values. Raises TypeError for others.
    """
    text = json.dumps(inputs, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def still_current(issued: str | None, now: str | None) -> Decision:
    """Is there an issued plan, and does it rest on what is so now? Both are marks of `fingerprint`."""
    if issued is None:
        text = "No plan is issued for this group. Plan the dive and issue it."
        return refuse(Reason(L.PLAN_ISSUED.key, text, "none", "an issued plan", "", "hard limit"))
    return must(
        L.PLAN_CURRENT,
        now is not None and issued == now,
        "Something changed since the plan was issued. Look at the plan and issue it again.",
        found="changed" if now is not None else "not known",
        needed="unchanged",
    )


def _stop_planned(plan: PlanProposal, limits: Limits) -> Decision:
    from_depth = limits[L.SAFETY_STOP_FROM_DEPTH].number
    if plan.depth_m is not None and from_depth is not None and plan.depth_m < from_depth:
        return ALLOWED
    text = "The plan has no full safety stop. Add the stop."
    return all_of(
        (
            within(limits[L.SAFETY_STOP_MINUTES], plan.stop_min, unknown=text, broken=text),
            within(limits[L.SAFETY_STOP_DEPTH], plan.stop_depth_m, unknown=text, broken=text),
        )
    )


def _no_stop_left(plan: PlanProposal, limits: Limits) -> Decision:
    return within(
        limits[L.NO_STOP_LEFT_MIN],
        plan.no_stop_left_min,
        unknown="The no-stop time is not worked out. Work the plan out again.",
        broken="The dive would need decompression stops. Plan fewer minutes or less depth.",
    )


def _everyone_on_plan(plan: PlanProposal) -> Decision:
    return must(
        L.SHARING_GAS_COVERED,
        bool(plan.gas),
        "The plan counts nobody's gas. Give everyone a cylinder and plan again.",
        found="nobody",
        needed="everyone",
    )


def _gas_lasts(person: PersonGas, limits: Limits) -> Decision:
    reserve = reserve_in_force(person.sharing_bar, limits)
    name = person.name
    ends = within(
        reserve,
        person.end_bar,
        unknown=f"{name}'s gas does not last or is not known. Plan fewer minutes.",
        broken=f"{name} would come back under the reserve. Plan fewer minutes or a fuller cylinder.",
        who=name,
    )
    start = must(
        L.PRESSURE_READ,
        person.start_bar is not None,
        f"{name}'s start pressure is not on the plan. Choose a cylinder that has been read.",
        found="not known",
        needed="a reading",
        who=name,
    )
    turn = limits[L.TURN_PRESSURE].number
    covered = must(
        L.SHARING_GAS_COVERED,
        turn is not None and person.sharing_bar is not None and person.sharing_bar <= turn,
        f"{name}'s cylinder could not bring two people up from the turn. Take a larger one.",
        found="not known" if person.sharing_bar is None else f"{person.sharing_bar:.0f} bar",
        needed="not known" if turn is None else f"at most {turn:g} bar",
        who=name,
    )
    return all_of((start, ends, covered))
