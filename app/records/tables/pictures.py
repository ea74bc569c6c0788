"""Pictures: photos of cylinders, kit and whatever else a record is about."""

from datetime import datetime
from typing import ClassVar

from sqlalchemy import LargeBinary
from sqlmodel import Field

from app.records.tables.base import Row, instant, key


class PictureRow(Row, table=True):
    """One picture and what it is about. Add only; the trail keeps its digest, never its bytes."""

    __tablename__ = "picture"
    add_only: ClassVar[bool] = True
    secret: ClassVar[frozenset[str]] = frozenset({"sealed"})
    id: int | None = key()
    # "cylinder", "kit_item" and so on, with that record's number.
    about_kind: str = Field(index=True)
    about_id: int = Field(index=True)
    content_type: str
    # Sealed with the shop's key and bound to what it is about and its digest.
    sealed: bytes = Field(sa_type=LargeBinary)
    size_bytes: int
    width_px: int
    height_px: int
    # SHA-256 of the picture as kept, hex.
    digest: str
    by: str
    at: datetime = instant()
