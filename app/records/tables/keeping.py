"""Keeping the records: chores that were run, and the seals of closed days."""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key


class ChoreRunRow(Row, table=True):
    """One run of a chore: when, who wanted it, how it ended. Add only; the newest of a chore counts."""

    __tablename__ = "chore_run"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    chore: str = Field(index=True)
    # "daily", or the name of who asked for it.
    asked_by: str
    began_at: datetime = instant()
    ended_at: datetime = instant()
    went_well: bool
    # What came of it, or why it did not: counts and places, never a person.
    said: str


class DaySealRow(Row, table=True):
    """The seal over a closed day's records, tied to the seal of the day closed before it. Add only."""

    __tablename__ = "day_seal"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    day: date = Field(unique=True)
    # JSON {table: {"columns": [...], "ids": [...]}}: the rows that the seal covers.
    covers: str
    # Keyed hash (HMAC-SHA-256, hex) over those rows and the seal before; zeros before the first.
    before: str
    seal: str
    # Number of the trail's newest entry when the seal was made: later entries are corrections.
    trail_number: int
    at: datetime = instant()
