"""Groups, who is in them, their cylinders, their plans."""

from datetime import datetime
from typing import ClassVar

from sqlalchemy import Index, text
from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class GroupRow(Row, table=True):
    """One guide and the guests held by that guide in a slot."""

    __tablename__ = "dive_group"
    id: int | None = key()
    slot_id: int = link("slot.id")
    name: str
    depth_m: float
    minutes: float
    # Named persons ashore: who watches the surface, who stands ready to help.
    surface_watch_id: int | None = link("person.id", nullable=True, default=None)
    safety_diver_id: int | None = link("person.id", nullable=True, default=None)
    # None until the instructor calls it off; final once set.
    aborted_at: datetime | None = instant(empty=True)
    aborted_by: str = ""
    aborted_why: str = ""
    # The dive itself, for the group as a whole: first in, closed after everyone is back.
    entered_at: datetime | None = instant(empty=True)
    # When the plan in force at entry has everybody back at the surface.
    due_at: datetime | None = instant(empty=True)
    closed_at: datetime | None = instant(empty=True)
    closed_by: str = ""
    greatest_depth_m: float | None = None
    stop_done: bool | None = None
    # "slower" (at or under the limit), "faster" (over it), None = not yet said
    ascent: str | None = None
    # Who had a dive computer: a key of ``COMPUTERS``; "" where nobody said.
    computers: str = ""
    # Members who lost sight of the group, by number, separated by spaces.
    separated: str = ""
    # What happened, in the guide's words; "nothing" must be said, not left blank.
    happened: str = ""
    version: int = 1


class MemberRow(Row, table=True):
    """A person's place in a group, from joining to leaving. Leaving never removes the row."""

    __tablename__ = "member"
    id: int | None = key()
    group_id: int = link("dive_group.id")
    # "guide", "assistant" or "guest"
    part: str
    person_id: int | None = link("person.id", nullable=True, default=None)
    guest_id: int | None = link("guest.id", nullable=True, default=None)
    joined_at: datetime = instant()
    joined_by: str
    left_at: datetime | None = instant(empty=True)
    left_by: str = ""
    version: int = 1


class CylinderOutRow(Row, table=True):
    """A cylinder given to a member of a group, and brought back."""

    __tablename__ = "cylinder_out"
    # The store itself refuses to hand one cylinder to two people.
    __table_args__ = (
        Index(
            "uq_cylinder_out_once",
            "cylinder_id",
            unique=True,
            sqlite_where=text("back_at IS NULL"),
            postgresql_where=text("back_at IS NULL"),
        ),
        Index("ix_cylinder_out_of_cylinder", "cylinder_id", "given_at"),
        Index("ix_cylinder_out_given", "given_at"),
    )
    id: int | None = key()
    cylinder_id: int = link("cylinder.id")
    member_id: int = link("member.id")
    given_at: datetime = instant()
    given_by: str
    back_at: datetime | None = instant(empty=True)
    back_by: str = ""
    version: int = 1


class PlanRow(Row, table=True):
    """A plan as issued: frozen, numbered, with the values it ran under. Add only."""

    __tablename__ = "plan"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    group_id: int = link("dive_group.id")
    number: int = Field(unique=True)
    # JSON: the case handed to planning, its answer, and every limit in force with who bound it.
    case: str
    answer: str
    limits: str
    # What the plan depended on (people, cylinders, conditions): another value means out of date.
    fingerprint: str
    acknowledged: str = ""
    issued_at: datetime = instant()
    issued_by: str
