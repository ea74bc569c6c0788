"""Health: sealed answers, consents, talks and letters, joined to a guest by a random reference only."""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class HealthFormRow(Row, table=True):
    """One form of one guest: sealed answers, and when each part was signed."""

    __tablename__ = "health_form"
    secret: ClassVar[frozenset[str]] = frozenset({"answers", "signature", "drawing"})
    id: int | None = key()
    guest_ref: str = Field(index=True)
    question_version: str
    language: str = "en"
    # "original", "checked", "draft" or "outdated": the state of the words that were shown.
    text_status: str = "original"
    # Which stored words were shown; "" for the original, which its version names.
    words_digest: str = ""
    # Sealed JSON {code: answer}; readable only with the guest's key.
    answers: str = ""
    # Sealed typed name, and sealed strokes when the guest also drew it.
    signature: str = ""
    drawing: str = ""
    # When the history part was signed, and for which day the today part was.
    history_signed_at: datetime | None = instant(empty=True)
    today_signed_for: date | None = None
    started_at: datetime = instant()
    version: int = 1


class ConsentRow(Row, table=True):
    """A consent given by the guest or the guardian. Add only; withdrawing is another row."""

    __tablename__ = "consent"
    secret: ClassVar[frozenset[str]] = frozenset({"signed_name", "guardian", "drawing", "interpreter"})
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    # "health-data", "dive", "guardian", "guardian-health-data", "guardian-place", "urgent-care", "photos",
    # "parents-disagree"
    kind: str
    given: bool
    text_version: str
    language: str = "en"
    # The state of the words that were shown, and which stored words they were.
    text_status: str = "original"
    words_digest: str = ""
    # For words that nobody has checked: the language that the guest understands well enough to agree in it,
    # or the sealed name of the adult who interpreted.
    understood: str = ""
    interpreter: str = ""
    # Sealed typed name; sealed JSON of the guardian (name, relation, phone, id_seen, may_collect).
    signed_name: str = ""
    guardian: str = ""
    # Sealed strokes of a guardian's drawn signature, when there is one.
    drawing: str = ""
    # Where the guardian is during the dive: "by phone", "on site" or "poolside".
    guardian_place: str = ""
    valid_until: date | None = None
    # Who of the team wrote it down, where it is not the guest's or the guardian's own word.
    recorded_by: str = ""
    at: datetime = instant()


class TalkRow(Row, table=True):
    """A talk settled by a named instructor, for one day. Add only; the newest of the day counts."""

    __tablename__ = "talk"
    secret: ClassVar[frozenset[str]] = frozenset({"speaker"})
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    day: date
    # "go", "go-with-limits" or "ashore"
    decision: str
    note: str = ""
    depth_cap_m: float | None = None
    max_guests: int | None = None
    confined_only: bool = False
    # Fingerprint (keyed) of the outcome that was talked about: another outcome needs another talk.
    about: str = ""
    # Sealed: the adult who speaks the guest's language and was there; "" where the words needed none.
    speaker: str = ""
    by_id: int = link("person.id")
    by: str
    at: datetime = instant()


class LetterRow(Row, table=True):
    """What a named person recorded of a doctor's letter. Add only; a newer letter supersedes."""

    __tablename__ = "doctors_letter"
    secret: ClassVar[frozenset[str]] = frozenset({"verdict", "doctor", "covers", "limits"})
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    # Sealed "fit" or "notfit": a doctor's verdict is as private as an answer.
    verdict: str
    issued: date
    expires: date | None = None
    has_scan: bool = False
    # Sealed: who the doctor is, which codes the letter covers, limits in words.
    doctor: str = ""
    covers: str = ""
    limits: str = ""
    recorded_by: str
    recorded_by_id: int | None = None
    # The letter whose record this one puts right or replaces.
    supersedes_id: int | None = None
    # Somebody asked and was told: the doctor is neither the guest nor a relative.
    not_relative: bool = False
    at: datetime = instant()


class HealthReadRow(Row, table=True):
    """Every look at reasons or answers: who, when, whose, what kind, why. Holds no health word.

    Each is an entry of the trail as well, so that the trail's chain covers the log of looks.
    """

    __tablename__ = "health_read"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_ref: str = Field(index=True)
    person_id: int = link("person.id")
    who: str
    role: str
    # "reasons", "answers", "letter", "slip", "scan", "compare", "slip, as lead"
    kind: str
    why: str
    at: datetime = instant()
