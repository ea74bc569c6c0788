"""Scans of doctors' letters and parents' papers, which pages belong to a letter, and who compared it."""

from datetime import datetime
from typing import ClassVar

from sqlalchemy import LargeBinary
from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class LetterScanRow(Row, table=True):
    """One page as scanned or photographed. Whoever drops it in cannot open it. Add only."""

    __tablename__ = "letter_scan"
    add_only: ClassVar[bool] = True
    secret: ClassVar[frozenset[str]] = frozenset({"sealed"})
    id: int | None = key()
    guest_ref: str = Field(index=True)
    # "letter" from a doctor, or "parent-paper" for an adult who is not the guardian.
    kind: str
    content_type: str
    # Sealed with the guest's key and bound to the guest and the digest.
    sealed: bytes = Field(sa_type=LargeBinary)
    size_bytes: int
    # SHA-256 of the bytes as kept, hex.
    digest: str
    by_id: int | None = None
    by: str
    at: datetime = instant()


class LetterPageRow(Row, table=True):
    """One scan that belongs to one recorded letter. Add only."""

    __tablename__ = "letter_page"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    letter_id: int = link("doctors_letter.id")
    scan_id: int = link("letter_scan.id")
    by: str
    at: datetime = instant()


class LetterCheckRow(Row, table=True):
    """A named person's word about a recorded letter. Add only; the newest of a kind and role counts."""

    __tablename__ = "letter_check"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    letter_id: int = link("doctors_letter.id")
    # "compared": scan and record were held against each other. "reviewed": a fit that follows a not-fit.
    kind: str
    agrees: bool
    # "lead" or "keeper": as which of the two the person said it.
    role: str
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()
