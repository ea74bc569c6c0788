"""Writing down what went wrong or nearly did; reading and adding to it."""

from datetime import date, datetime

from app.actions.act import Act
from app.records.tables.days import IncidentNoteRow, IncidentRow


def write_incident(
    act: Act,
    day: date,
    happened_at: datetime,
    severity: str,
    category: str,
    phase: str,
    what: str,
    action_taken: str,
    group_id: int | None = None,
) -> IncidentRow:
    """Write an incident by hand; anybody on the team may, and it is never refused for a lapsed sign-in."""
    return act.add(
        IncidentRow(
            day=day,
            happened_at=happened_at,
            severity=severity,
            category=category,
            phase=phase,
            what=what,
            action_taken=action_taken,
            group_id=group_id,
            written_at=act.now,
            written_by_id=act.actor.person_id,
            written_by=act.actor.name,
        )
    )


def read_incident(act: Act, incident_id: int, version: int, follow_up: str) -> None:
    """Note that the manager read an incident, with what is to be done."""
    row = act.get(IncidentRow, incident_id)
    values = {"read_at": act.now, "read_by": act.actor.name, "follow_up": follow_up}
    act.edit(row, version, values, {"follow_up": "What is to be done", "read_by": "Read by"})


def add_note(act: Act, incident_id: int, note: str) -> IncidentNoteRow:
    """Add to an incident; what was written before stays as it was."""
    act.get(IncidentRow, incident_id)
    return act.add(IncidentNoteRow(incident_id=incident_id, note=note, by=act.actor.name, at=act.now))
