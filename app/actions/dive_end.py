"""After the dive: what it was like, closing it, and the incidents that its own figures show."""

import json

from app.actions.act import Act
from app.records.counts import counts_of, events_of, missing_of, rounds_of
from app.records.entry import DiverView, divers_of, entry
from app.records.facts import member_key
from app.records.groups import GroupView
from app.records.plans import PlanView
from app.records.tables.days import IncidentRow
from app.records.tables.groups import GroupRow
from app.records.tables.water import PressureRow
from app.rules.gas import Reading
from app.rules.head_count import DiveEnd, is_mismatch, may_close_dive
from app.rules.incidents import DiveRecord, DiverRecord, Draft, found_by_program
from app.rules.resolve import Limits, limits_from_record
from app.rules.roll_call import DiverEnd

LABELS = {
    "greatest_depth_m": "Greatest depth",
    "stop_done": "Stop done",
    "ascent": "Way up",
    "happened": "What happened",
}


def write_dive(
    act: Act,
    group_id: int,
    version: int,
    depth_m: float | None,
    ascent: str | None,
    stop_done: bool | None,
    happened: str,
) -> None:
    """Write what the dive was like: greatest depth in m, "slower" or "faster" than the limit, the stop."""
    group = act.get(GroupRow, group_id)
    values = {"greatest_depth_m": depth_m, "ascent": ascent, "stop_done": stop_done, "happened": happened}
    act.edit(group, version, values, LABELS)


def close_dive(act: Act, group_id: int) -> list[Draft]:
    """Close a dive when everybody is answered for; raises Refused. Writes the incidents it shows."""
    found = entry(act.session, act.house, group_id, act.now)
    view, limits = found.view, _limits_then(found.plan, found.limits)
    people = {member_key(one.row): one.name for one in view.members}
    counts = counts_of(act.session, group_id)
    rounds, missing = rounds_of(counts), missing_of(act.session, group_id)
    divers = divers_of(act.session, [(one.row, one.name) for one in view.members])
    events = events_of(act.session, group_id)
    ends = tuple(
        DiverEnd(one.key, one.name, None if one.end is None else one.end.bar, _readings(one))
        for one in divers
    )
    end = DiveEnd(people, events, rounds, missing, ends, view.group.happened)
    act.allow(may_close_dive(end, limits))
    act.edit(act.get(GroupRow, group_id), None, {"closed_at": act.now, "closed_by": act.actor.name}, {})
    wrong = sum(is_mismatch(one) for one in rounds)
    drafts = found_by_program(_record(view, found.plan, divers, wrong, missing is not None), limits)
    for draft in drafts:
        act.add(
            IncidentRow(
                day=view.slot.day,
                happened_at=view.group.entered_at or act.now,
                severity=draft.severity,
                category=draft.category,
                phase=draft.phase,
                made_by=draft.rule,
                what=draft.what,
                group_id=group_id,
                member_id=next((one.member.id for one in divers if one.name == draft.who), None),
                written_at=act.now,
                written_by="Daybuoy",
            )
        )
    act.about = ("dive_group", str(group_id))
    return drafts


def _record(
    view: GroupView, plan: PlanView | None, divers: list[DiverView], wrong_counts: int, missing: bool
) -> DiveRecord:
    reserves = {} if plan is None else _reserves(plan)
    group = view.group
    return DiveRecord(
        where="confined" if view.site.confined else "open",
        planned_depth_m=None if plan is None else group.depth_m,
        greatest_depth_m=group.greatest_depth_m,
        ascent=group.ascent,
        separated=(),
        wrong_counts=wrong_counts,
        missing=missing,
        divers=tuple(
            DiverRecord(
                one.name,
                None if one.end is None else one.end.bar,
                reserves.get(str(one.member.id)),
                _readings(one),
            )
            for one in divers
        ),
    )


def _reserves(plan: PlanView) -> dict[str, float]:
    answer = json.loads(plan.row.answer)
    return {str(one["id"]): float(one["reserve_in_force_bar"]) for one in answer.get("divers", ())}


def _readings(one: DiverView) -> tuple[Reading, ...]:
    rows: list[PressureRow] = [row for row in (one.start, one.during, one.end) if row is not None]
    return tuple(Reading(row.bar, row.at) for row in rows)


def _limits_then(plan: PlanView | None, now: Limits) -> Limits:
    """Return the limits the dive ran under: those frozen with its plan, or those in force without one."""
    return now if plan is None else limits_from_record(json.loads(plan.row.limits))
