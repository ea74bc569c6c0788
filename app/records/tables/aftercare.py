"""After the dive: what each guest was asked on coming out, what was done about it, and the card given."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class ExitCheckRow(Row, table=True):
    """What a guest said on coming out of one dive. Add only; the newest of a dive counts."""

    __tablename__ = "exit_check"
    secret: ClassVar[frozenset[str]] = frozenset({"answers"})
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_id: int = link("guest.id")
    group_id: int = link("dive_group.id")
    # Sealed JSON {code: "no" or "yes"}; readable only with the guest's key.
    answers: str
    at: datetime = instant()
    by_id: int | None = link("person.id", nullable=True, default=None)
    by: str


class ExitCareRow(Row, table=True):
    """What was done about a yes on coming out. Add only; the lead is asked until there is one."""

    __tablename__ = "exit_care"
    secret: ClassVar[frozenset[str]] = frozenset({"done"})
    add_only: ClassVar[bool] = True
    id: int | None = key()
    check_id: int = link("exit_check.id")
    # Sealed: one word of a fixed list.
    done: str
    at: datetime = instant()
    by_id: int | None = link("person.id", nullable=True, default=None)
    by: str


class AftercareCardRow(Row, table=True):
    """An aftercare card as it was given to a guest: in which language, with which times. Add only."""

    __tablename__ = "aftercare_card"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_id: int = link("guest.id")
    group_id: int = link("dive_group.id")
    language: str
    # "original", "checked", "draft" or "outdated": the state of the words that were printed.
    text_status: str = "original"
    text_version: str
    surfaced_at: datetime = instant()
    greatest_depth_m: float | None = None
    # Dives of the last two days that the times to fly were counted from.
    dives: int = 1
    fly_allowed_from: datetime = instant()
    fly_advised_from: datetime = instant()
    keep_until: datetime = instant()
    # The numbers as printed.
    phone_ambulance: str = Field(default="")
    phone_shop: str = Field(default="")
    phone_dive_doctor: str = Field(default="")
    at: datetime = instant()
    by_id: int | None = link("person.id", nullable=True, default=None)
    by: str
