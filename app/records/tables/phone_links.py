"""Links that open a guest's own form on the guest's own phone."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class PhoneLinkRow(Row, table=True):
    """One link for one guest: used up by its Start, dead once ended.

    What it opens is never stored, only a hash of it.
    """

    __tablename__ = "phone_link"
    secret: ClassVar[frozenset[str]] = frozenset({"token_hash"})
    id: int | None = key()
    guest_id: int = link("guest.id")
    token_hash: str = Field(unique=True)
    made_at: datetime = instant()
    made_by: str
    used_at: datetime | None = instant(empty=True)
    ended_at: datetime | None = instant(empty=True)
    # "a newer one", "taken back", "signed" or "handed over"
    why_ended: str = ""
    version: int = 1
