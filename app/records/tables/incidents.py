"""What is added to an incident after its first line: facts, steps, what was kept aside, follow-ups.

Texts about one guest are sealed in the trail with that guest's key (``owner``); without one they are plain.
"""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class IncidentFactRow(Row, table=True):
    """One thing said about an incident, by the key of the question. Add only; the newest of a key counts."""

    __tablename__ = "incident_fact"
    add_only: ClassVar[bool] = True
    personal: ClassVar[frozenset[str]] = frozenset({"value"})
    id: int | None = key()
    incident_id: int = link("incident.id")
    fact: str
    value: str
    owner: str = ""
    by_id: int | None = link("person.id", nullable=True, default=None)
    by: str
    at: datetime = instant()

    def key_owner(self) -> str | None:
        """The key of the guest it is about."""
        return self.owner or None


class IncidentStepRow(Row, table=True):
    """One thing that was done after an incident: a call, first aid, oxygen on or off. Add only."""

    __tablename__ = "incident_step"
    add_only: ClassVar[bool] = True
    personal: ClassVar[frozenset[str]] = frozenset({"what"})
    id: int | None = key()
    incident_id: int = link("incident.id")
    kind: str
    happened_at: datetime = instant()
    # Whom, for a call; empty for anything else.
    whom: str = ""
    what: str = ""
    flow_l_min: float | None = None
    owner: str = ""
    by_id: int | None = link("person.id", nullable=True, default=None)
    by: str
    at: datetime = instant()

    def key_owner(self) -> str | None:
        """The key of the guest it is about."""
        return self.owner or None


class IncidentKeptRow(Row, table=True):
    """A cylinder or a piece of kit kept aside because of an incident. Add only."""

    __tablename__ = "incident_kept"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    incident_id: int = link("incident.id")
    cylinder_id: int | None = link("cylinder.id", nullable=True, default=None)
    kit_item_id: int | None = link("kit_item.id", nullable=True, default=None)
    by: str
    at: datetime = instant()


class IncidentTaskRow(Row, table=True):
    """Something to be done because of an incident: what, by whom, until when, and how it ended."""

    __tablename__ = "incident_task"
    id: int | None = key()
    incident_id: int = link("incident.id")
    what: str
    owner_id: int = link("person.id")
    due_on: date = Field(index=True)
    set_at: datetime = instant()
    set_by: str
    done_at: datetime | None = instant(empty=True)
    done_by: str = ""
    done_how: str = ""
    version: int = 1


class DayNoteRow(Row, table=True):
    """Something added to a day after it was closed. Add only."""

    __tablename__ = "day_note"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    day: date = Field(index=True)
    note: str
    by: str
    at: datetime = instant()
