"""Guests who were here before, and the folded words that search reads."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class GuestLinkRow(Row, table=True):
    """What the desk said of a guest and an earlier visit: the same person or not. Add only.

    The newest word on a pair counts, so that a wrong link is undone by another row.
    """

    __tablename__ = "guest_link"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_id: int = link("guest.id")
    earlier_id: int = link("guest.id")
    # "same" or "not the same"
    said: str
    at: datetime = instant()
    by_id: int | None = link("person.id", nullable=True, default=None)
    by: str


class SearchEntryRow(Row, table=True):
    """The folded names of one record, for finding it. Made again from the record whenever that changes."""

    __tablename__ = "search_entry"
    in_trail: ClassVar[bool] = False
    # "guest" or "party"
    record: str = Field(primary_key=True)
    record_id: int = Field(primary_key=True)
    words: str
    # The digits of a phone number, in the order in which they are dialled.
    digits: str = ""
