"""The health day on shore: the instructor's look, who told a guest the result, slips undone by two."""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class ShoreLookRow(Row, table=True):
    """What a named instructor saw of one guest on shore. Add only; the newest of the day counts."""

    __tablename__ = "shore_look"
    secret: ClassVar[frozenset[str]] = frozenset({"points"})
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    day: date
    # Whether every point was in order; final: a point that stands for the day was not.
    well: bool
    final: bool = False
    # Sealed words of the points that were not in order; as long for everybody.
    points: str = ""
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class ToldRow(Row, table=True):
    """That a named person explained the result to a guest, and what became of it. Add only."""

    __tablename__ = "outcome_told"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    day: date
    # "told", "asks-look" (the guest wants a person to look again) or "looked" (the lead did).
    step: str
    # Keyed fingerprint of the result that was explained.
    about: str
    note: str = ""
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class TodaySlipRow(Row, table=True):
    """One step in undoing a slip of the finger in today's part: lead and keeper, both. Add only."""

    __tablename__ = "today_slip"
    secret: ClassVar[frozenset[str]] = frozenset({"code"})
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    form_id: int = link("health_form.id")
    # Sealed code of the answer.
    code: str
    # "lead" or "keeper": as which of the two the person says it.
    role: str
    why: str
    # The first person's row; empty for the first person.
    after_id: int | None = None
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class QuestionChangeRow(Row, table=True):
    """A shop's own tightening of the health questions. Add only; a set is what ships and every row so far."""

    __tablename__ = "question_change"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    # The shipped version that was tightened.
    base: str
    # "raise" an answer's level, "add" a question, or "back": this code's own tightening ends.
    kind: str
    code: str
    level: str = ""
    # Of an added question.
    part: str = ""
    text: str = ""
    hazard: str = ""
    reason: str
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()
