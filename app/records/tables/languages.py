"""Translations: what the shop's readers checked or put right, and the exact words that guests were shown."""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key


class TextCheckRow(Row, table=True):
    """One text in one language, checked or put right by people. Add only; the newest counts.

    It counts while the original still has the fingerprint that was read beside it.
    """

    __tablename__ = "text_check"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    language: str = Field(index=True)
    # The text's code, or "" and the original itself.
    context: str = ""
    original: str = ""
    original_digest: str
    # JSON list: the words, or one for each plural form.
    words: str
    # Who speaks the language, and who knows diving; both empty for words put right and not yet checked.
    translator: str = ""
    reader: str = ""
    checked_on: date | None = None
    by: str
    at: datetime = instant()


class WordsShownRow(Row, table=True):
    """Every text of the form in one language as it stood when somebody was asked. Add only."""

    __tablename__ = "words_shown"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    language: str
    digest: str = Field(unique=True)
    # JSON {code: words}; of every question, so that it tells nothing of which were opened.
    words: str
    at: datetime = instant()
