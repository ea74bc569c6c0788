"""Keeping and erasing health records: stages, holds, requests, reviews, breaches, promises. All add only.

Guests are named here by their random reference alone, so that every row may stay when a guest is erased.
"""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class StageRow(Row, table=True):
    """A guest's health record became sealed or erased. The newest of a guest counts; none means live."""

    __tablename__ = "health_stage"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    # "sealed" or "erased"
    stage: str
    # "day over", "time over", "no dive", "asked" or "restored"
    why: str
    # What stays when everything else is gone: the day, whether there was a dive, the word, the rules.
    day: date
    dived: bool
    outcome: str = ""
    rule_version: str = ""
    keep_until: date | None = None
    at: datetime = instant()


class HoldRow(Row, table=True):
    """A step of a legal hold, by name. The newest of a guest counts; a hold stops erasing."""

    __tablename__ = "legal_hold"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    # "held", "kept" (looked at again), "released", or "not needed" after an incident
    step: str
    reason: str
    # The day by which somebody looks again whether the hold is still needed.
    check_by: date | None = None
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class ErasureRequestRow(Row, table=True):
    """Somebody asked that a guest's data be erased, and what was answered."""

    __tablename__ = "erasure_request"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    # "guest" or "guardian"; their papers were looked at.
    asked_by: str
    # "erased" or "sealed"
    answer: str
    # Why it is kept, in the words of the letter; and the last day it is kept.
    reason: str = ""
    until: date | None = None
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class KeepingRuleRow(Row, table=True):
    """How long sealed health records are kept. The newest counts; none means the shipped one."""

    __tablename__ = "keeping_rule"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    # Which country's starting point it was made from.
    country: str
    adult_months: int
    minor_age: int
    minor_months: int
    source: str
    reason: str
    set_by: str
    at: datetime = instant()


class TidyRow(Row, table=True):
    """One run of keeping and erasing: counts only."""

    __tablename__ = "tidy_run"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    live: int
    sealed: int
    erased: int
    newly_sealed: int
    newly_erased: int
    held: int
    keys_destroyed: int
    repeated: int
    by: str
    at: datetime = instant()


class LookReviewRow(Row, table=True):
    """The keeper looked the access log through, or reviewed one emergency look."""

    __tablename__ = "look_review"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    # The newest look that was there; or the one emergency look that was reviewed.
    up_to_id: int | None = None
    look_id: int | None = None
    # "in order" or "asked about it", and a line.
    found: str
    note: str = ""
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class BreachRow(Row, table=True):
    """Health data was lost, or seen by somebody who should not. Written down always, even when small."""

    __tablename__ = "breach"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    # "device", "person", "paper" or "other"
    kind: str
    what: str
    # When somebody here first knew: the clock of telling the authority runs from then.
    known_at: datetime = instant()
    # Whose data it may be: what a device or a person had between two instants.
    device_id: int | None = link("device.id", nullable=True, default=None)
    person_id: int | None = link("person.id", nullable=True, default=None)
    from_at: datetime | None = instant(empty=True)
    to_at: datetime | None = instant(empty=True)
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class BreachStepRow(Row, table=True):
    """What was done about a breach, and what was told to whom."""

    __tablename__ = "breach_step"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    breach_id: int = link("breach.id")
    # "authority told", "authority not told", "people told", "people not told", "done" or "closed"
    step: str
    words: str
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class SecrecyRow(Row, table=True):
    """A person of the team promised to keep health data to themselves. The newest counts."""

    __tablename__ = "secrecy"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    person_id: int = link("person.id")
    text_version: str
    signed_on: date
    at: datetime = instant()
