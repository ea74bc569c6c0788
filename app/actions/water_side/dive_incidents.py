"""The incidents that a dive's own record shows: written by the program, each once."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from app.actions.act import Act
from app.records.gas_room.cylinders_out import where_of
from app.records.groups.facts import limits_for_group
from app.records.groups.groups import GroupView
from app.records.look_back.incident_file import guest_owner
from app.records.look_back.incidents import IncidentView, incidents_of_group
from app.records.plans.plans import PlanView, current_plan
from app.records.tables.days import IncidentNoteRow, IncidentRow
from app.records.water_side.counts import missing_of, rounds_in
from app.records.water_side.entry import DiverView, divers_of
from app.records.water_side.water import dive_times
from app.rules import limits as L
from app.rules.gas import Reading
from app.rules.head_count import is_mismatch
from app.rules.incidents import FIGURES, DiveRecord, DiverRecord, Draft, found_by_program
from app.rules.resolve import Limits, limits_from_record

PROGRAM = "Daybuoy"
# Phases of a dive that end with coming out of the water.
_ON_THE_WAY_UP = ("ascent", "surface")
GONE = "The record of the dive does not show this any more."


@dataclass(frozen=True)
class Found:
    """An incident found by the program, with the member it is about; None when it is about the group.

    at: when it was; None: when the group went in, for nothing on the record tells it closer.
    """

    draft: Draft
    member_id: int | None = None
    at: datetime | None = None


def write_shown(act: Act, view: GroupView) -> list[IncidentRow]:
    """Write the incidents that the record of a dive shows, under the limits it ran under.

    One that the record, put right meanwhile, does not show any more stays, with a note that says so.
    """
    plan = current_plan(act.session, act.house, view.id, act.now)
    if plan is None:
        limits = limits_for_group(act.session, act.house, view.id, act.now)
    else:
        limits = limits_from_record(plan.limits)
    found, written = _shown(act, view, plan, limits), _written(act, view)
    shown = {(one.draft.rule, one.member_id) for one in found}
    for place, earlier in written.items():
        if earlier.row.made_by in FIGURES and place not in shown:
            _note(act, earlier, GONE)
    return write_found(act, view, found)


def write_found(act: Act, view: GroupView, found: Iterable[Found]) -> list[IncidentRow]:
    """Write incidents not written yet; a figure put right becomes a note on the earlier. Returns the new."""
    written = _written(act, view)
    new = []
    for one in found:
        earlier = written.get((one.draft.rule, one.member_id))
        if earlier is None:
            new.append(act.add(_row(act, view, one)))
        else:
            _note(act, earlier, one.draft.what)
    return new


def _written(act: Act, view: GroupView) -> dict[tuple[str, int | None], IncidentView]:
    return {(one.row.made_by, one.row.member_id): one for one in incidents_of_group(act.session, view.id)}


def _note(act: Act, earlier: IncidentView, said: str) -> None:
    """Add what the record shows now to an incident of the program, unless that is what it said last."""
    told = [one.note for one in earlier.notes if one.by.startswith(PROGRAM) or one.note == said]
    if [earlier.row.what, *told][-1] == said:
        return
    act.add(
        IncidentNoteRow(
            incident_id=earlier.row.id or 0,
            note=said,
            owner=earlier.row.owner,
            by=f"{PROGRAM}, after {act.actor.name}",
            at=act.now,
        )
    )


def readings_of(one: DiverView) -> tuple[Reading, ...]:
    """Return the pressures of a diver that count, as the rules read them."""
    rows = [row for row in (one.start, one.during, one.end) if row is not None]
    return tuple(Reading(row.bar, row.at) for row in rows)


def missing_person(view: GroupView, limits: Limits, now: datetime) -> list[Found]:
    """Return the incident that a missing-person procedure is, for writing it down as it begins."""
    where = where_of(view.site)
    drafts = found_by_program(DiveRecord(where, None, None, None, (), 0, True, ()), limits)
    return [Found(draft, at=now) for draft in drafts]


def _shown(act: Act, view: GroupView, plan: PlanView | None, limits: Limits) -> list[Found]:
    divers = divers_of(act.session, view.members)
    where = where_of(view.site)
    group = DiveRecord(
        where=where,
        planned_depth_m=None if plan is None else float(plan.case["depth_m"]),
        greatest_depth_m=view.group.greatest_depth_m,
        ascent=view.group.ascent,
        separated=(),
        wrong_counts=sum(is_mismatch(one) for one in rounds_in(act.session, view.id)),
        missing=missing_of(act.session, view.id) is not None,
        divers=(),
    )
    times = dive_times(act.session, [one.id for one in divers])
    backs = [one.back for one in times.values() if one.back is not None]
    last_back = max(backs, default=None)
    found = [Found(draft, at=_when(draft, last_back)) for draft in found_by_program(group, limits)]
    reserves, separated = _reserves(plan, limits), set(view.group.separated.split())
    for one in divers:
        # Asked one by one: two guests may bear the same name.
        lost = (one.name,) if str(one.id) in separated else ()
        record = DiveRecord(where, None, None, None, lost, 0, False, (_diver(one, reserves),))
        back = times[one.id].back if one.id in times else None
        found += [
            Found(draft, one.id, _when(draft, back or last_back))
            for draft in found_by_program(record, limits)
        ]
    return found


def _when(draft: Draft, back: datetime | None) -> datetime | None:
    """Return when it was, as close as the record tells: on the way up, the time out of the water."""
    return back if draft.phase in _ON_THE_WAY_UP else None


def _diver(one: DiverView, reserves: dict[str, float | None]) -> DiverRecord:
    end = None if one.end is None else one.end.bar
    return DiverRecord(one.name, end, reserves.get(str(one.id), reserves[""]), readings_of(one))


def _reserves(plan: PlanView | None, limits: Limits) -> dict[str, float | None]:
    """Return the reserve that was in force for each diver of the plan; under "" the one for anybody else."""
    planned = [] if plan is None else plan.answer["divers"]
    own = {str(one["id"]): float(one["reserve_in_force_bar"]) for one in planned}
    return {"": limits[L.END_PRESSURE_MIN].number, **own}


def _row(act: Act, view: GroupView, one: Found) -> IncidentRow:
    return IncidentRow(
        day=view.slot.day,
        happened_at=one.at or view.group.entered_at or act.now,
        severity=one.draft.severity,
        category=one.draft.category,
        phase=one.draft.phase,
        made_by=one.draft.rule,
        what=one.draft.what,
        group_id=view.id,
        member_id=one.member_id,
        written_at=act.now,
        written_by=PROGRAM,
        owner=guest_owner(act.session, one.member_id),
    )
