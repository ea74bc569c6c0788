"""The day as a whole: emergency kit, incidents, the manager's sign-off."""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class EmergencyCheckRow(Row, table=True):
    """The emergency kit looked at on a day. Add only; the newest of the day counts."""

    __tablename__ = "emergency_check"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    day: date = Field(index=True)
    # Words from the list of the kit, separated by spaces, that were there and working.
    present: str
    # As read off the oxygen's gauge and stamp, and what the two give together.
    oxygen_bar: float
    oxygen_cylinder_litres: float
    oxygen_litres: float
    note: str = ""
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class EmergencyOxygenRow(Row, table=True):
    """One oxygen cylinder of an emergency kit check, as read off its gauge and stamp. Add only."""

    __tablename__ = "emergency_oxygen"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    check_id: int = link("emergency_check.id")
    bar: float
    cylinder_litres: float
    oxygen_litres: float


class DrillRow(Row, table=True):
    """An emergency drill that was held, and what was practised. Add only."""

    __tablename__ = "drill"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    held_on: date = Field(index=True)
    what: str
    by: str
    at: datetime = instant()


class IncidentRow(Row, table=True):
    """Something that went wrong or nearly did, written by hand or by the program."""

    __tablename__ = "incident"
    personal: ClassVar[frozenset[str]] = frozenset({"what", "action_taken"})
    id: int | None = key()
    day: date = Field(index=True)
    happened_at: datetime = instant()
    # "near-miss", "minor" or "serious"
    severity: str
    category: str
    phase: str = ""
    # "hand" or the rule key that made it
    made_by: str = "hand"
    what: str
    action_taken: str = ""
    group_id: int | None = link("dive_group.id", nullable=True, default=None)
    member_id: int | None = link("member.id", nullable=True, default=None)
    written_at: datetime = instant()
    written_by_id: int | None = link("person.id", nullable=True, default=None)
    written_by: str
    read_at: datetime | None = instant(empty=True)
    read_by: str = ""
    follow_up: str = ""
    closed_at: datetime | None = instant(empty=True)
    closed_by: str = ""
    # "guest:<ref>" when it is about one guest: the trail seals its texts with that guest's key.
    owner: str = ""
    version: int = 1

    def key_owner(self) -> str | None:
        """The key of the guest it is about."""
        return self.owner or None


class IncidentNoteRow(Row, table=True):
    """A later addition to an incident. Add only."""

    __tablename__ = "incident_note"
    add_only: ClassVar[bool] = True
    personal: ClassVar[frozenset[str]] = frozenset({"note"})
    id: int | None = key()
    incident_id: int = link("incident.id")
    note: str
    owner: str = ""
    by: str
    at: datetime = instant()

    def key_owner(self) -> str | None:
        """The key of the guest it is about."""
        return self.owner or None


class DayRow(Row, table=True):
    """A day signed off by the manager."""

    __tablename__ = "day"
    id: int | None = key()
    day: date = Field(unique=True)
    closed_at: datetime = instant()
    closed_by: str
    note: str = ""
    # Persons who went in and came back on the day, counted by name when it was closed.
    persons_in: int | None = None
    persons_back: int | None = None
    # The head of the trail when the day was closed, short, as printed on the day sheet.
    trail_head: str = ""
