"""What was written on paper first and typed in later. All add only."""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class PaperSheetRow(Row, table=True):
    """One sheet of paper of a group, typed in: who wrote it at the water, who typed it, what it lacked."""

    __tablename__ = "paper_sheet"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    group_id: int = link("dive_group.id")
    # Who wrote on the paper: the guide, as a rule.
    author_id: int = link("person.id")
    author: str
    typed_by_id: int | None = link("person.id", nullable=True, default=None)
    typed_by: str
    typed_at: datetime = instant()
    # The first and the last time that the paper tells.
    from_at: datetime = instant()
    until_at: datetime = instant()
    # Keys of the gates that the records do not show as passed: they are on paper, or were never asked.
    gaps: str = ""


class PaperRecordRow(Row, table=True):
    """One record that came from a sheet of paper, and the paper's own time for it."""

    __tablename__ = "paper_record"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    sheet_id: int = link("paper_sheet.id")
    # The record's table and number.
    record: str = Field(index=True)
    record_id: int = Field(index=True)
    paper_at: datetime = instant()


class PaperFormRow(Row, table=True):
    """A guest's health form that is on paper: that it is there and who keeps it. Never an answer."""

    __tablename__ = "paper_form"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_id: int = link("guest.id")
    day: date = Field(index=True)
    kept_by_id: int = link("person.id")
    kept_by: str
    at: datetime = instant()
