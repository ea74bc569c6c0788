"""Writing down what went wrong or nearly did; reading, adding to it and putting it right.

What was written stays: a correction is an addition that says what stood there before.
"""

from collections.abc import Mapping
from datetime import date, datetime

from app.actions.act import Act
from app.records.groups.groups import group_view
from app.records.look_back.incident_file import guest_owner
from app.records.setup.shop import the_shop
from app.records.tables.days import IncidentNoteRow, IncidentRow
from app.records.tables.groups import MemberRow
from app.records.water_side.water import member_names
from app.rules.incidents import CATEGORIES, PHASES, SEVERITIES, is_worse

LABELS = {
    "severity": "How bad",
    "category": "What kind",
    "phase": "Where in the dive",
    "happened_at": "When",
    "group_id": "Which group",
    "member_id": "Who it is about",
    "read_by": "Read by",
}
Value = str | int | datetime | None
WORDS: dict[str, Mapping[str, str]] = {
    "severity": {key: key.replace("-", " ") for key in SEVERITIES},
    "category": CATEGORIES,
    "phase": PHASES,
}


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


def read_incident(act: Act, incident_id: int, version: int) -> None:
    """Note that the manager read an incident; raises Clash when it was changed meanwhile."""
    row = act.get(IncidentRow, incident_id)
    act.edit(row, version, {"read_at": act.now, "read_by": act.actor.name}, LABELS)


def add_note(act: Act, incident_id: int, note: str) -> IncidentNoteRow:
    """Add to an incident; what was written before stays as it was."""
    row = act.get(IncidentRow, incident_id)
    return act.add(
        IncidentNoteRow(incident_id=incident_id, note=note, owner=row.owner, by=act.actor.name, at=act.now)
    )


def correct_incident(act: Act, incident_id: int, version: int, values: Mapping[str, Value], why: str) -> None:
    """Put right how bad, what kind, where, when, which group or whom it is about (LABELS), and say why.

    What stood there before stays in an addition. One that turns out worse is read again. Raises Clash.
    """
    row = act.get(IncidentRow, incident_id)
    changed: dict[str, Value] = {name: value for name, value in values.items() if getattr(row, name) != value}
    notes = [
        f"{LABELS[name]}: was {_said(act, name, getattr(row, name))}, now {_said(act, name, value)}."
        for name, value in changed.items()
    ]
    if "member_id" in changed:
        about = changed["member_id"]
        changed["owner"] = guest_owner(act.session, about if isinstance(about, int) else None)
    if is_worse(str(values.get("severity", row.severity)), row.severity):
        changed |= {"read_at": None, "read_by": "", "closed_at": None, "closed_by": ""}
    act.about, act.reason = ("incident", str(incident_id)), why
    act.edit(row, version, changed, LABELS)
    add_note(act, incident_id, " ".join((*notes, f"Why: {why}")))


def _said(act: Act, name: str, value: Value) -> str:
    """Say one value of an incident in words."""
    if name == "happened_at" and isinstance(value, datetime):
        return f"{value.astimezone(the_shop(act.session).zone):%H:%M}"
    if name == "member_id":
        row = act.session.get(MemberRow, value) if isinstance(value, int) else None
        names = {} if row is None else member_names(act.session, [row])
        return next(iter(names.values()), "") or "nobody in particular"
    if name == "group_id":
        return group_view(act.session, value).label if isinstance(value, int) else "no group"
    return WORDS.get(name, {}).get(str(value), str(value)) or "not in the water"
