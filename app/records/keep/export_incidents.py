"""What leaves the shop of its incidents: each with its chain and oxygen, every step, every follow-up."""

from collections.abc import Callable, Iterable

from sqlmodel import col, select

from app.records.keep.export_table import Column, ExportTable, Scope, Value, rounded, table
from app.records.look_back.incident_file import TaskView, tasks_of, things
from app.records.tables.days import IncidentNoteRow, IncidentRow
from app.records.tables.groups import MemberRow
from app.records.tables.incidents import IncidentFactRow, IncidentKeptRow, IncidentStepRow
from app.records.water_side.water import member_names
from app.rules.incident_file import CALLED, FACTS, OXYGEN_ON, STEPS, WHOM, Step, authority_told, oxygen_given
from app.rules.incidents import CATEGORIES, PHASES

UNITS = {"metres": " (m)", "bar": " (bar)"}


def incidents(scope: Scope) -> ExportTable:
    """Return every incident of the days, or of the group, with all that was said of it later."""
    rows = _rows(scope)
    ids = [row.id or 0 for row in rows]
    notes: dict[int, list[str]] = {}
    added = select(IncidentNoteRow).where(col(IncidentNoteRow.incident_id).in_(ids))
    for note in scope.session.exec(added.order_by(col(IncidentNoteRow.id))):
        notes.setdefault(note.incident_id, []).append(f"{note.by}: {note.note}")
    about = _about(scope, rows)
    said, steps, kept = _said(scope, ids), _steps_by_incident(scope, ids), _kept(scope, ids)

    def of_fact(key: str) -> Callable[[IncidentRow], Value]:
        fact = FACTS[key]

        def value(row: IncidentRow) -> Value:
            words = said.get((row.id or 0, key), "")
            if fact.kind in UNITS:
                return rounded(float(words), 1) if words else None
            return fact.options.get(words, words) or None

        return value

    def first(kind: str, value: Callable[[IncidentStepRow], Value]) -> Callable[[IncidentRow], Value]:
        def of(row: IncidentRow) -> Value:
            found = next((one for one in steps.get(row.id or 0, ()) if one.kind == kind), None)
            return None if found is None else value(found)

        return of

    facts: list[Column[IncidentRow]] = [
        (f"{fact.label}{UNITS.get(fact.kind, '')}", of_fact(key)) for key, fact in FACTS.items()
    ]
    return table(
        "incidents",
        "Incidents",
        rows,
        (
            ("Number", lambda row: row.id),
            ("Day", lambda row: row.day),
            ("Happened at", lambda row: scope.local(row.happened_at)),
            ("How bad", lambda row: row.severity),
            ("Kind", lambda row: CATEGORIES.get(row.category, row.category)),
            ("Where in the dive", lambda row: PHASES.get(row.phase, row.phase) or None),
            ("Made by", lambda row: row.made_by),
            ("What", lambda row: row.what),
            ("Who it is about", lambda row: about.get(row.member_id or 0)),
            ("What was done", lambda row: row.action_taken or None),
            *facts,
            ("First aid at", first("first_aid", lambda one: scope.local(one.happened_at))),
            ("First aid", first("first_aid", lambda one: one.what or None)),
            ("Oxygen on at", first(OXYGEN_ON, lambda one: scope.local(one.happened_at))),
            ("Oxygen (L/min)", first(OXYGEN_ON, lambda one: one.flow_l_min)),
            ("Oxygen given (L)", lambda row: _litres(steps.get(row.id or 0, ()))),
            ("First call at", first(CALLED, lambda one: scope.local(one.happened_at))),
            ("First call to", first(CALLED, lambda one: WHOM.get(one.whom, one.whom))),
            ("Taken away for help at", first("evacuation", lambda one: scope.local(one.happened_at))),
            (
                "Authority told at",
                lambda row: scope.local(authority_told(_plain(steps.get(row.id or 0, ())))),
            ),
            ("Kept aside", lambda row: ", ".join(kept.get(row.id or 0, ())) or None),
            ("Added later", lambda row: " / ".join(notes.get(row.id or 0, ())) or None),
            ("Group number", lambda row: row.group_id),
            ("Written by", lambda row: row.written_by),
            ("Written at", lambda row: scope.local(row.written_at)),
            ("Read by", lambda row: row.read_by or None),
            ("Read at", lambda row: scope.local(row.read_at)),
            ("To be done", lambda row: row.follow_up or None),
            ("Closed by", lambda row: row.closed_by or None),
            ("Closed at", lambda row: scope.local(row.closed_at)),
        ),
    )


def steps(scope: Scope) -> ExportTable:
    """Return everything that was done after each incident, in the order in which it happened."""
    rows = _rows(scope)
    every = _steps_by_incident(scope, [row.id or 0 for row in rows])
    return table(
        "incident steps",
        "Incident steps",
        [one for row in rows for one in every.get(row.id or 0, ())],
        (
            ("Incident number", lambda one: one.incident_id),
            ("At", lambda one: scope.local(one.happened_at)),
            ("What", lambda one: STEPS.get(one.kind, one.kind)),
            ("Whom", lambda one: WHOM.get(one.whom, one.whom) or None),
            ("Words", lambda one: one.what or None),
            ("Oxygen (L/min)", lambda one: one.flow_l_min),
            ("Written by", lambda one: one.by),
            ("Written at", lambda one: scope.local(one.at)),
        ),
    )


def follow_ups(scope: Scope) -> ExportTable:
    """Return what was to be done because of each incident: by whom, until when, how it ended."""
    found: Iterable[TaskView] = tasks_of(scope.session, [row.id or 0 for row in _rows(scope)])
    return table(
        "follow-ups",
        "Follow-ups",
        sorted(found, key=lambda one: one.row.id or 0),
        (
            ("Incident number", lambda one: one.row.incident_id),
            ("What", lambda one: one.row.what),
            ("Whose", lambda one: one.owner),
            ("Due on", lambda one: one.row.due_on),
            ("Set by", lambda one: one.row.set_by),
            ("Set at", lambda one: scope.local(one.row.set_at)),
            ("Done by", lambda one: one.row.done_by or None),
            ("Done at", lambda one: scope.local(one.row.done_at)),
            ("How it ended", lambda one: one.row.done_how or None),
        ),
    )


def _rows(scope: Scope) -> list[IncidentRow]:
    asked = select(IncidentRow).where(col(IncidentRow.day) >= scope.first, col(IncidentRow.day) <= scope.last)
    if scope.one_group:
        asked = asked.where(col(IncidentRow.group_id).in_([view.id for view in scope.views]))
    return list(scope.session.exec(asked.order_by(col(IncidentRow.happened_at), col(IncidentRow.id))))


def _about(scope: Scope, rows: Iterable[IncidentRow]) -> dict[int, str]:
    """Return names by member, of people who have left the group as well."""
    numbers = {row.member_id for row in rows if row.member_id is not None}
    members = scope.session.exec(select(MemberRow).where(col(MemberRow.id).in_(numbers)))
    return member_names(scope.session, members)


def _said(scope: Scope, ids: Iterable[int]) -> dict[tuple[int, str], str]:
    """Return what was said last to each question, by incident and question."""
    asked = select(IncidentFactRow).where(col(IncidentFactRow.incident_id).in_(list(ids)))
    rows = scope.session.exec(asked.order_by(col(IncidentFactRow.id)))
    return {(row.incident_id, row.fact): row.value for row in rows}


def _steps_by_incident(scope: Scope, ids: Iterable[int]) -> dict[int, list[IncidentStepRow]]:
    asked = select(IncidentStepRow).where(col(IncidentStepRow.incident_id).in_(list(ids)))
    order = (col(IncidentStepRow.happened_at), col(IncidentStepRow.id))
    found: dict[int, list[IncidentStepRow]] = {}
    for row in scope.session.exec(asked.order_by(*order)):
        found.setdefault(row.incident_id, []).append(row)
    return found


def _kept(scope: Scope, ids: Iterable[int]) -> dict[int, list[str]]:
    """Return what was set aside because of each incident, as it is called."""
    asked = select(IncidentKeptRow).where(col(IncidentKeptRow.incident_id).in_(list(ids)))
    rows = list(scope.session.exec(asked.order_by(col(IncidentKeptRow.id))))
    cylinders = {row.cylinder_id for row in rows if row.cylinder_id is not None}
    items = {row.kit_item_id for row in rows if row.kit_item_id is not None}
    labels = {(one.kind, one.number): one.label for one in things(scope.session, cylinders, items)}
    found: dict[int, list[str]] = {}
    for row in rows:
        key = ("kit", row.kit_item_id or 0) if row.cylinder_id is None else ("cylinder", row.cylinder_id)
        found.setdefault(row.incident_id, []).append(labels[key])
    return found


def _plain(rows: Iterable[IncidentStepRow]) -> list[Step]:
    return [Step(one.kind, one.happened_at, one.flow_l_min, one.whom) for one in rows]


def _litres(rows: Iterable[IncidentStepRow]) -> float | None:
    """Return the litres of oxygen given; None while none was, or no end of it is written down."""
    given = oxygen_given(_plain(rows))
    known = [one.litres for one in given if one.litres is not None]
    return rounded(sum(known), 0) if given and len(known) == len(given) else None
