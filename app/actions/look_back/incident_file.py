"""Finishing an incident later: facts, steps, kit kept aside, follow-ups, and closing it. All additions."""

from collections.abc import Collection, Mapping
from datetime import date, datetime

from app.actions.act import Act, Invalid
from app.actions.gas_room.cylinders import quarantine
from app.actions.kit_rail.kit import set_kit_aside
from app.records.look_back.incident_file import facts_of, incident_file
from app.records.store.problems import NotHere
from app.records.tables.days import IncidentRow
from app.records.tables.incidents import IncidentFactRow, IncidentKeptRow, IncidentStepRow, IncidentTaskRow
from app.records.tables.kit import KitItemRow
from app.records.tables.people import PersonRow
from app.rules.incident_close import may_close_incident
from app.rules.incident_file import FACTS, step_mistakes

TASK_LABELS = {"done_how": "How it was done", "done_by": "Done by"}
CLOSE_LABELS = {"closed_by": "Closed by"}


def say_facts(act: Act, incident_id: int, said: Mapping[str, str]) -> list[IncidentFactRow]:
    """Add what is said now to questions of FACTS; what is as it stands adds nothing.

    Figures are in bar and metres, as text. Raises NotHere for no such incident or question.
    """
    row = act.get(IncidentRow, incident_id)
    stands = facts_of(act.session, incident_id)
    added = []
    for fact, value in said.items():
        if fact not in FACTS:
            raise NotHere(f"question {fact}")
        if value == (stands[fact][0].value if fact in stands else ""):
            continue
        added.append(
            act.add(
                IncidentFactRow(
                    incident_id=incident_id, fact=fact, value=value, owner=row.owner,
                    by_id=act.actor.person_id, by=act.actor.name, at=act.now,
                )
            )
        )  # fmt: skip
    act.about = ("incident", str(incident_id))
    return added


def add_step(
    act: Act,
    incident_id: int,
    kind: str,
    happened_at: datetime,
    whom: str = "",
    what: str = "",
    flow_l_min: float | None = None,
) -> IncidentStepRow:
    """Write one thing that was done: kind of STEPS, whom of WHOM for a call, L/min for oxygen.

    Raises Invalid beside the field that is missing.
    """
    row = act.get(IncidentRow, incident_id)
    if wrong := step_mistakes(kind, whom, what, flow_l_min):
        raise Invalid(wrong)
    act.about = ("incident", str(incident_id))
    return act.add(
        IncidentStepRow(
            incident_id=incident_id, kind=kind, happened_at=happened_at, whom=whom, what=what,
            flow_l_min=flow_l_min, owner=row.owner, by_id=act.actor.person_id, by=act.actor.name, at=act.now,
        )
    )  # fmt: skip


def keep_aside(act: Act, incident_id: int, cylinders: Collection[int], items: Collection[int]) -> None:
    """Set cylinders and pieces of kit aside because of an incident, as they are, and note them with it.

    What is set aside already stays as it is and is noted too. Raises NotHere, Invalid when nothing is chosen.
    """
    act.get(IncidentRow, incident_id)
    if not cylinders and not items:
        raise Invalid({"keep": "Tick what is kept."})
    why = f"Kept as it was after incident {incident_id}"
    file = incident_file(act.session, incident_id)
    free = {(one.kind, one.number): not one.aside for one in file.offered}
    for kind, numbers in (("cylinder", cylinders), ("kit", items)):
        for number in numbers:
            if (kind, number) not in free:
                raise NotHere(f"{kind} {number}")
            if free[kind, number] and kind == "cylinder":
                quarantine(act, number, why)
            elif free[kind, number]:
                set_kit_aside(act, number, act.get(KitItemRow, number).version, why)
            act.add(
                IncidentKeptRow(
                    incident_id=incident_id,
                    cylinder_id=number if kind == "cylinder" else None,
                    kit_item_id=number if kind == "kit" else None,
                    by=act.actor.name,
                    at=act.now,
                )
            )
    act.about, act.reason = ("incident", str(incident_id)), why


def set_task(act: Act, incident_id: int, what: str, owner_id: int, due_on: date) -> IncidentTaskRow:
    """Set a follow-up: what, whose, until when. Raises Invalid for somebody who does not work here."""
    act.get(IncidentRow, incident_id)
    owner = act.session.get(PersonRow, owner_id)
    if owner is None or not owner.active:
        raise Invalid({"owner": "Choose somebody who works here."})
    act.about = ("incident", str(incident_id))
    return act.add(
        IncidentTaskRow(
            incident_id=incident_id, what=what, owner_id=owner_id, due_on=due_on, set_at=act.now,
            set_by=act.actor.name,
        )
    )  # fmt: skip


def finish_task(act: Act, task_id: int, version: int, how: str) -> IncidentTaskRow:
    """Mark a follow-up as done, with how; raises Clash when somebody did before."""
    task = act.get(IncidentTaskRow, task_id)
    act.about = ("incident", str(task.incident_id))
    act.edit(task, version, {"done_at": act.now, "done_by": act.actor.name, "done_how": how}, TASK_LABELS)
    return task


def close_incident(act: Act, incident_id: int, version: int) -> None:
    """Close an incident once it is read, followed up and answered for (raises Refused, Clash)."""
    row = act.get(IncidentRow, incident_id)
    act.allow(may_close_incident(incident_file(act.session, incident_id).close_facts))
    act.edit(row, version, {"closed_at": act.now, "closed_by": act.actor.name}, CLOSE_LABELS)
