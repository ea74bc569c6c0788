"""Sealed health records opened for one guest: only for the pages behind a logged look."""

import json
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from app.records.guest_side.questions import questions_now
from app.records.health.health_forms import GuestForms, forms_of, open_sheet, owner, questions_of
from app.records.health.health_rows import consents_of, letters_of, newest
from app.records.health.letters import LetterState, states_of
from app.records.setup.shop import limits_now, the_shop
from app.records.store.house import House
from app.records.store.sealing import Sealed
from app.records.tables.health import HealthFormRow, LetterRow
from app.records.tables.parties import GuestRow
from app.rules.answering import Sheet
from app.rules.asking import Answer, affirmed, answer_to
from app.rules.health_access import may_undo_today
from app.rules.question_set import QuestionSet
from app.rules.screening_policy import policy_in_force

WORDS = {
    Answer.YES: "Yes",
    Answer.NO: "No",
    Answer.NOT_SURE: "Not sure",
    Answer.MISSING: "not answered",
    Answer.YES_THEN_NO: "No, after a Yes",
    Answer.YES_THEN_NO_OK: "No, after a Yes by mistake",
    Answer.UNREADABLE: "cannot be read",
}


@dataclass(frozen=True)
class OpenAnswers:
    """The form that counts, opened. readable: False when there is none or its seal does not open."""

    questions: QuestionSet
    sheet: Sheet
    readable: bool
    signed: bool
    form: HealthFormRow | None = None

    @property
    def undoable(self) -> list[str]:
        """The codes of today's answers that lead and keeper together may undo as a slip of the finger."""
        if not self.signed:
            return []
        return [
            one.code
            for one in self.questions.questions
            if may_undo_today(one) and affirmed(answer_to(one, self.sheet.answers))
        ]

    @property
    def lines(self) -> list[tuple[str, str]]:
        """Every answer other than a plain No, with the words the guest saw."""
        said = [(one, answer_to(one, self.sheet.answers)) for one in self.questions.questions]
        kept = (Answer.NO, Answer.MISSING)
        return [(question.text, WORDS[answer]) for question, answer in said if answer not in kept]

    @property
    def changed(self) -> list[str]:
        """The codes whose Yes became a No without a keeper's word about it."""
        return [code for code, answer in self.sheet.answers.items() if answer is Answer.YES_THEN_NO]


@dataclass(frozen=True)
class OpenLetter:
    """A letter as the keeper recorded it, and what became of it."""

    row: LetterRow
    verdict: str
    doctor: str
    register_no: str
    contact: str
    covers: str
    limits: str
    state: LetterState


def open_answers(session: Session, house: House, guest: GuestRow, day: date) -> OpenAnswers:
    """Return a guest's answers as they count on a day."""
    found = forms_of(session, [guest.ref], day, the_shop(session).zone).get(guest.ref, GuestForms())
    form = found.counts
    questions = None if form is None else questions_of(session, form)
    sheet = None if form is None else open_sheet(house, form)
    if form is None or questions is None or sheet is None:
        return OpenAnswers(questions_now(session), Sheet(), readable=False, signed=False)
    return OpenAnswers(questions, sheet, readable=True, signed=found.draft is None, form=form)


def letters(session: Session, house: House, guest: GuestRow) -> list[OpenLetter]:
    """Return a guest's letters, newest first."""
    rows = letters_of(session, guest.ref)
    states = states_of(session, rows)
    return [_letter(house, guest, row, states[row.id or 0]) for row in reversed(rows)]


def guardian(session: Session, house: House, guest: GuestRow) -> dict[str, object]:
    """Return what the guardian wrote (name, relation, phone, id_seen, may_collect); empty without one."""
    row = newest(consents_of(session, guest.ref), "guardian")
    return {} if row is None else _read(_open(house, guest, "guardian", row.guardian))


def majority_age(session: Session) -> float:
    """Return the age in whole years from which a guest signs alone."""
    return policy_in_force(limits_now(session)).majority_age


def _letter(house: House, guest: GuestRow, row: LetterRow, state: LetterState) -> OpenLetter:
    doctor = _read(_open(house, guest, "doctor", row.doctor))
    return OpenLetter(
        row,
        _open(house, guest, "verdict", row.verdict),
        str(doctor.get("name", "")),
        str(doctor.get("register_no", "")),
        str(doctor.get("contact", "")),
        _open(house, guest, "covers", row.covers),
        _open(house, guest, "limits", row.limits),
        state,
    )


def _open(house: House, guest: GuestRow, field: str, sealed: str) -> str:
    try:
        return house.ring.open(owner(guest.ref), field, sealed) if sealed else ""
    except (Sealed, ValueError):
        return ""


def _read(text: str) -> dict[str, object]:
    try:
        found = json.loads(text)
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}
