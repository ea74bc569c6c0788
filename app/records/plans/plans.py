"""Plans: the one worked out now, and those issued, frozen with the values they ran under."""

import json
import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from math import ceil, floor, inf
from typing import Any

from sqlmodel import Session, col, func, select

from app.planning.group_plan import plan_group, what_if
from app.planning.plan_parts import GroupCase, GroupPlan
from app.records.groups.facts import day_facts
from app.records.plans.plan_case import PlanBasis, plan_basis_of
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.tables.groups import GroupRow, MemberRow, PlanRow
from app.records.water_side.water import member_names
from app.rules.decision import Decision, all_of
from app.rules.group_change import may_change_people
from app.rules.groups import GroupFacts
from app.rules.plan_basis import PARTS, changed_parts, second_opinion
from app.rules.plan_check import PersonGas, PlanProposal, depth_in_force, fingerprint, may_issue
from app.rules.resolve import Limits

# The what-if table: steps of depth in metres and of time in minutes around the plan, past a limit too: the
# page says which one a cell is over.
DEPTH_STEPS = (-2.0, -1.0, 0.0, 1.0, 2.0)
MINUTE_STEPS = (-10.0, -5.0, 0.0, 5.0, 10.0)
LEAST_DEPTH_M, LEAST_MINUTES = 1.0, 5.0
# Where a guest's name stands in a frozen plan: the member's number in double brackets.
NAME_MARK = re.compile(r"\[\[(\d+)\]\]")
# What can keep an issued plan from holding, though nothing that it rests on was changed.
PRESSURES, RATES = "start pressures", "breathing rates"


@dataclass(frozen=True)
class Draft:
    """The plan as it comes out now, in the same form as an issued one.

    about: whose plan it is, in words: group, day, slot, site, guide, and each diver's part and cylinder.
    case, answer: None while something has to be known first; ``decision`` then says what.
    acknowledge: what the guide has to look at and acknowledge before this plan is issued.
    """

    basis: PlanBasis
    about: dict[str, Any]
    case: dict[str, Any] | None
    answer: dict[str, Any] | None
    limits: dict[str, Any]
    decision: Decision
    acknowledge: Decision
    fingerprint: str


@dataclass(frozen=True)
class PlanView:
    """An issued plan as it was frozen, and whether it still is the plan for its group.

    changed: which of `PARTS` are not what they were, in words; start pressures or breathing rates when the
    plan no longer holds with those read or believed now. What is believed of breathing moves a little with
    each dive logged: a plan whose divers are now believed to need no more gas, or that still keeps every
    limit with what they need, stays current and keeps the figures it was issued with.
    """

    row: PlanRow
    about: dict[str, Any]
    case: dict[str, Any]
    answer: dict[str, Any]
    limits: dict[str, Any]
    changed: tuple[str, ...]

    @property
    def up_to_date(self) -> bool:
        """Whether everything the plan rests on is as it was."""
        return not self.changed


def draft_plan(session: Session, house: House, group_id: int, now: datetime) -> Draft:
    """Work the plan of a group out from what is so now; raises NotHere."""
    basis = plan_basis_of(session, house, group_id, now)
    group, limits = basis.view.group, basis.limits
    open_ = may_change_people(
        group.entered_at is not None, group.aborted_at is not None, group.closed_at is not None
    )
    mark = fingerprint(basis.rests_on)
    case = basis.case_with_readings
    if case is None:
        refused = open_ + basis.missing
        return Draft(basis, about(basis), None, None, limits.as_record(), refused, Decision(), mark)
    plan = plan_group(case)
    answer = _plain(plan)
    answer["what_if"] = [asdict(cell) for cell in _what_if(case)]
    return Draft(
        basis,
        about(basis),
        _plain(case),
        answer,
        limits.as_record(),
        open_ + may_issue(proposal(case, plan, confined=basis.view.site.confined), limits),
        _acknowledge(case, plan, limits),
        mark,
    )


def current_plan(
    session: Session, house: House, group_id: int, now: datetime, facts: GroupFacts | None = None
) -> PlanView | None:
    """Return the newest issued plan of a group and whether it is up to date; None while none is issued.

    ``facts`` at hand are not read again.
    """
    row = newest_plans(session, [group_id]).get(group_id)
    return None if row is None else _view(session, house, row, now, facts)


def current_plans(session: Session, house: House, day: date, now: datetime) -> dict[int, PlanView]:
    """Return the newest issued plan of each group of a day that has one, by group number."""
    facts = day_facts(session, house, day, now)
    rows = newest_plans(session, facts)
    return {key: _view(session, house, row, now, facts[key]) for key, row in rows.items()}


def plan_numbered(session: Session, house: House, number: int, now: datetime) -> PlanView:
    """Return an issued plan by its number; raises NotHere."""
    row = session.exec(select(PlanRow).where(PlanRow.number == number)).first()
    if row is None:
        raise NotHere(f"plan {number}")
    return _view(session, house, row, now)


def newest_plans(session: Session, group_ids: Iterable[int]) -> dict[int, PlanRow]:
    """Return the newest issued plan of each group that has one, by group number."""
    newest = (
        select(func.max(PlanRow.id))
        .where(col(PlanRow.group_id).in_(list(group_ids)))
        .group_by(col(PlanRow.group_id))
    )
    return {row.group_id: row for row in session.exec(select(PlanRow).where(col(PlanRow.id).in_(newest)))}


def plans_of(session: Session, group_id: int) -> list[PlanRow]:
    """Return every plan issued for a group, newest first."""
    found = select(PlanRow).where(PlanRow.group_id == group_id).order_by(col(PlanRow.number).desc())
    return list(session.exec(found))


def next_number(session: Session) -> int:
    """Return the number of the next plan to be issued: one more than the highest."""
    return (session.exec(select(func.max(PlanRow.number))).one() or 0) + 1


def proposal(case: GroupCase, plan: GroupPlan, *, confined: bool) -> PlanProposal:
    """Return a worked-out plan as the rules look at it."""
    left = [one.minutes_left for one in plan.nitrogen if one.minutes_left is not None]
    return PlanProposal(
        where="confined" if confined else "open",
        depth_m=case.depth_m,
        minutes=case.minutes,
        ascent_m_min=case.ascent_m_min,
        turn_bar=case.turn_bar,
        stop_min=case.stop_min,
        stop_depth_m=case.stop_m,
        no_stop_left_min=min(left, default=inf),
        gas=tuple(
            PersonGas(
                one.name,
                one.start_gauge_bar,
                # To a tenth of a bar, on the safe side: nobody reads a gauge more finely.
                floor(one.end_gauge_bar * 10) / 10 if one.out_of_gas_min is None else None,
                ceil(one.sharing_gauge_bar * 10) / 10,
            )
            for one in plan.divers
        ),
    )


def frozen(draft: Draft) -> tuple[str, str]:
    """Return case and answer of a plan as they are kept: with a mark in the place of each guest's name.

    A plan is never rewritten, and a guest may be erased: names are put in when it is read.
    """
    basis = draft.basis
    guests = {one.id for one in basis.supplies if one.member.guest is not None}
    case = basis.case_with_readings
    marked = None if case is None else _marked(case, guests)
    answer = None if marked is None else _plain(plan_group(marked))
    if answer is not None and draft.answer is not None:
        answer["what_if"] = draft.answer["what_if"]
    kept = {
        "about": draft.about,
        "case": None if marked is None else _plain(marked),
        "rests_on": basis.rests_on,
    }
    return json.dumps(kept, ensure_ascii=False), json.dumps(answer, ensure_ascii=False)


def _marked(case: GroupCase, guests: Collection[str]) -> GroupCase:
    divers = (replace(one, name=f"[[{one.id}]]") if one.id in guests else one for one in case.divers)
    return replace(case, divers=tuple(divers))


def _named(kept: Any, names: Mapping[str, str]) -> Any:
    """Return what was kept with names in the place of their marks."""
    if isinstance(kept, str):
        return NAME_MARK.sub(lambda found: names.get(found[1], ""), kept)
    if isinstance(kept, list):
        return [_named(one, names) for one in kept]
    return {key: _named(one, names) for key, one in kept.items()} if isinstance(kept, dict) else kept


def about(basis: PlanBasis) -> dict[str, Any]:
    """Return whose plan it is, in words that stay when names change later."""
    view = basis.view
    return {
        "group": view.group.name,
        "day": view.slot.day.isoformat(),
        "slot": view.slot.clock,
        "site": view.site.name,
        "guide": view.guide.name if view.guide else "",
        "depth_rule": depth_in_force(basis.limits, "confined" if view.site.confined else "open").key,
        "parts": {one.id: one.member.row.part for one in basis.supplies},
        "cylinders": {one.id: one.cylinder.number if one.cylinder else "" for one in basis.supplies},
        "start_read": {one.id: one.start_bar for one in basis.supplies},
        "breathing": {"dives": basis.learned.belief.dives, "own": _own_dives(basis)},
    }


def _own_dives(basis: PlanBasis) -> dict[str, int]:
    """Return how many dives of each guest's own the rates rest on, where there are any."""
    own = {
        one.id: len(basis.learned.own.get(("guest", one.member.row.guest_id or 0), ()))
        for one in basis.supplies
    }
    return {key: count for key, count in own.items() if count}


def _view(
    session: Session, house: House, row: PlanRow, now: datetime, facts: GroupFacts | None = None
) -> PlanView:
    kept = json.loads(row.case)
    members = session.exec(select(MemberRow).where(MemberRow.group_id == row.group_id))
    names = {str(number): name for number, name in member_names(session, members).items()}
    case, answer = _named(kept["case"], names), _named(json.loads(row.answer), names)
    issued = (row, kept["about"], case, answer, json.loads(row.limits))
    group = session.get(GroupRow, row.group_id)
    if group is not None and group.entered_at is not None:
        # The dive ran under this plan; what changes afterwards does not rewrite it.
        return PlanView(*issued, ())
    basis = plan_basis_of(session, house, row.group_id, now, facts)
    changed = changed_parts(kept["rests_on"], json.loads(json.dumps(basis.rests_on)))
    if not changed and fingerprint(basis.rests_on) != row.fingerprint:
        changed = tuple(PARTS.values())
    return PlanView(*issued, changed or _no_longer(basis, kept["case"]))


def _no_longer(basis: PlanBasis, issued: Mapping[str, Any]) -> tuple[str, ...]:
    """Name what keeps the plan from being issued now, though nothing it rests on was changed."""
    case, filled = basis.case_with_readings, basis.case
    if case is None or filled is None:
        return (PRESSURES,)
    careful = {one["id"]: one["cautious_rate_l_min"] for one in issued["divers"]}
    needs_more = any(one.cautious_rate_l_min > careful.get(one.id, 0) for one in case.divers)
    if (case == filled and not needs_more) or _holds(basis, case):
        return ()
    return (RATES,) if case == filled or not _holds(basis, filled) else (PRESSURES,)


def _holds(basis: PlanBasis, case: GroupCase) -> bool:
    asked = proposal(case, plan_group(case), confined=basis.view.site.confined)
    return may_issue(asked, basis.limits).allowed


def _acknowledge(case: GroupCase, plan: GroupPlan, limits: Limits) -> Decision:
    guides = {diver.id for diver in case.divers if diver.is_guide}
    return all_of(
        second_opinion(one.name, one.id in guides, one.navy_minutes_total, case.minutes, False, limits)
        for one in plan.nitrogen
    )


def _what_if(case: GroupCase) -> tuple[Any, ...]:
    depths = {max(LEAST_DEPTH_M, case.depth_m + step) for step in DEPTH_STEPS}
    minutes = {max(LEAST_MINUTES, case.minutes + step) for step in MINUTE_STEPS}
    return what_if(case, sorted(depths | {case.depth_m}), sorted(minutes | {case.minutes}))


def _plain(thing: GroupCase | GroupPlan) -> dict[str, Any]:
    """Return a dataclass as JSON-able values; what has no bound becomes None."""
    made: dict[str, Any] = json.loads(json.dumps(asdict(thing)), parse_constant=lambda _: None)
    return made
