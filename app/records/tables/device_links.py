"""Links that pair a phone of the shop: a code to scan, or six digits to type."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class DeviceLinkRow(Row, table=True):
    """One link for one phone, good once and for a few minutes.

    What it opens is never stored, only hashes of it.
    """

    __tablename__ = "device_link"
    secret: ClassVar[frozenset[str]] = frozenset({"token_hash", "digits_hash"})
    id: int | None = key()
    name: str
    # Whose phone it usually is; None for one that several people take along.
    person_id: int | None = link("person.id", nullable=True, default=None)
    token_hash: str = Field(unique=True)
    digits_hash: str
    # The number of the newest wrong try when the link was made: later ones count against it.
    tries_from: int = 0
    made_at: datetime = instant()
    made_by: str
    used_at: datetime | None = instant(empty=True)
    device_id: int | None = link("device.id", nullable=True, default=None)
    ended_at: datetime | None = instant(empty=True)
    version: int = 1
