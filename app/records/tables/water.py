"""At the water: briefing, skills, pressures, who is in and who is back, counts. All add only."""

from datetime import date, datetime
from typing import ClassVar

from sqlalchemy import Index
from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class BriefingRow(Row, table=True):
    """One answer of the briefing list or the kit check; the newest of an item counts.

    Two items stand in no list: in which language it was said, and who looked at a kit as second.
    """

    __tablename__ = "briefing"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    group_id: int = link("dive_group.id")
    item: str
    answer: str
    # Whose kit was checked: "staff-3", "guest-12"; empty for what is said to the whole group.
    about: str = ""
    # In which language it was said; "" where nobody noted it.
    language: str = ""
    # Who put it into that language: "staff-3", "guest-12", "other"; "" where nobody did.
    interpreter: str = ""
    # Why an earlier answer was taken back; empty for an answer.
    correction: str = ""
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class SkillRow(Row, table=True):
    """A skill seen by a named instructor: shown, needs-work or refused. The newest counts.

    A mark that was taken back is followed by the one before it, or by an empty one.
    """

    __tablename__ = "skill"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_id: int = link("guest.id")
    group_id: int = link("dive_group.id")
    skill: str
    outcome: str
    # Why an earlier mark was taken back; empty for a mark.
    correction: str = ""
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class PressureRow(Row, table=True):
    """A pressure of a diver: start, turn or end. The newest of a moment counts; older ones stay."""

    __tablename__ = "pressure"
    add_only: ClassVar[bool] = True
    __table_args__ = (
        Index("ix_pressure_of_cylinder", "cylinder_id", "at"),
        Index("ix_pressure_at", "at"),
    )
    id: int | None = key()
    member_id: int = link("member.id")
    cylinder_id: int = link("cylinder.id")
    # "start", "during" or "end"
    moment: str
    bar: float
    read_value: float
    read_unit: str = "bar"
    unusual: bool = False
    # Why an earlier figure was put right; empty for a first entry.
    correction: str = ""
    by: str
    device_at: datetime | None = instant(empty=True)
    at: datetime = instant()


class WaterEventRow(Row, table=True):
    """The one record that decides who is in the water: in, back or never-entered, per person."""

    __tablename__ = "water_event"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    group_id: int = link("dive_group.id")
    member_id: int = link("member.id")
    # "in", "back" or "never-entered"
    event: str
    # When it happened as told, when the device said it was sent, and when it arrived.
    happened_at: datetime = instant()
    device_at: datetime | None = instant(empty=True)
    at: datetime = instant()
    by_id: int | None = link("person.id", nullable=True, default=None)
    by: str
    # Why a person should look at this record: "" or words such as "stale page", "odd clock".
    flag: str = ""


class OtherDiveRow(Row, table=True):
    """What somebody of the team said of other dives in the last 24 hours. Add only.

    A wrong dive is taken back by another row that says why; "no other dive" counts for its day.
    """

    __tablename__ = "other_dive"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    person_id: int = link("person.id")
    # The shop's day on which it was said.
    day: date = Field(index=True)
    # "none", "dive" or "taken back"
    said: str
    went_at: datetime | None = instant(empty=True, index=True)
    minutes: float | None = None
    greatest_depth_m: float | None = None
    takes_back_id: int | None = link("other_dive.id", nullable=True, default=None)
    why: str = ""
    by_id: int | None = link("person.id", nullable=True, default=None)
    by: str
    at: datetime = instant()


class CountRow(Row, table=True):
    """A typed head count or a call by name, out or in, by a named counter."""

    __tablename__ = "head_count"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    group_id: int = link("dive_group.id")
    # "out" or "in"
    way: str
    # "heads" (typed number) or "names" (each person answered)
    method: str
    counted: int
    # How many the records said at that moment, and whether both agree.
    expected: int
    agrees: bool
    counter_id: int | None = link("person.id", nullable=True, default=None)
    counter: str
    at: datetime = instant()


class MissingRow(Row, table=True):
    """The missing-person procedure of a group: it ends only with the person named and found."""

    __tablename__ = "missing"
    id: int | None = key()
    group_id: int = link("dive_group.id")
    started_at: datetime = instant()
    started_by: str
    last_seen: str = ""
    member_id: int | None = link("member.id", nullable=True, default=None)
    found_where: str = ""
    ended_at: datetime | None = instant(empty=True)
    ended_by: str = ""
    version: int = 1
