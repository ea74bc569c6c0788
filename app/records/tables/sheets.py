"""Sheets of cylinders or kit that were read and shown, and wait for a person's word."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key


class SheetRow(Row, table=True):
    """One sheet as it was read: kept here between the look at it and the word to take it in."""

    __tablename__ = "sheet"
    # The trail keeps the digest; what is taken in is in the trail row by row.
    secret: ClassVar[frozenset[str]] = frozenset({"rows"})
    id: int | None = key()
    # "cylinder" or "kit_item".
    kind: str
    # JSON: header and rows as text, and from which row of the sheet each comes; emptied once taken in.
    rows: str
    # SHA-256 of what was read, hex.
    digest: str
    read_at: datetime = instant()
    read_by_id: int = Field(index=True)
    read_by: str
    taken_at: datetime | None = instant(empty=True)
    taken_by: str = ""
    version: int = 1
