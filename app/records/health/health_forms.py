"""Health forms as stored: sealed sheets opened, and which form of a guest counts on a day."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from app.records.guest_side.questions import own_changes, question_set
from app.records.store.house import House
from app.records.store.sealing import Sealed
from app.records.tables.health import HealthFormRow
from app.rules.answering import Sheet
from app.rules.asking import read_answers
from app.rules.question_set import QuestionSet

ANSWERS = "answers"
SIGNATURE = "signature"
DRAWING = "drawing"
# Every sheet fills the same room, so that its sealed length says nothing about what was answered.
ROOM = 4096


@dataclass(frozen=True)
class GuestForms:
    """The forms of one guest that can matter on a day: the newest signed one, and one begun that day."""

    signed: HealthFormRow | None = None
    draft: HealthFormRow | None = None

    @property
    def counts(self) -> HealthFormRow | None:
        """The form that counts: answers begun anew today push a signed form aside until they are signed."""
        return self.draft or self.signed


def owner(guest_ref: str) -> str:
    """Return whose key seals a guest's health records."""
    return f"guest:{guest_ref}"


def is_signed(form: HealthFormRow) -> bool:
    """Return whether the guest signed this very form."""
    return form.signature != ""


def seal_sheet(house: House, guest_ref: str, sheet: Sheet) -> str:
    """Return a sheet sealed for its guest."""
    plain = {
        "answers": dict(sheet.answers),
        "before": dict(sheet.before),
        "fly_hours": sheet.fly_hours,
        "signed_hours": sheet.signed_hours,
    }
    return house.ring.seal(owner(guest_ref), ANSWERS, json.dumps(plain).ljust(ROOM))


def open_sheet(house: House, form: HealthFormRow) -> Sheet | None:
    """Return the answers of a form; None when they cannot be read, which never counts as a No."""
    if not form.answers:
        return Sheet()
    try:
        raw = json.loads(house.ring.open(owner(form.guest_ref), ANSWERS, form.answers))
        hours, signed_hours = (
            None if raw[name] is None else float(raw[name]) for name in ("fly_hours", "signed_hours")
        )
        return Sheet(read_answers(raw["answers"]), read_answers(raw["before"]), hours, signed_hours)
    except (Sealed, ValueError, TypeError, KeyError, AttributeError):
        return None


def questions_of(session: Session, form: HealthFormRow) -> QuestionSet | None:
    """Return the questions that a form answered; None when this program does not know that version."""
    return question_set(form.question_version, own_changes(session))


def forms_of(session: Session, refs: Iterable[str], day: date, zone: ZoneInfo) -> dict[str, GuestForms]:
    """Return the forms that matter on a day, by guest reference, in one query.

    A form whose guest took the consent back holds no answers and is passed over.
    """
    found: dict[str, GuestForms] = {}
    asked = select(HealthFormRow).where(col(HealthFormRow.guest_ref).in_(list(refs)))
    for form in session.exec(asked.order_by(col(HealthFormRow.id))):
        known = found.get(form.guest_ref, GuestForms())
        if is_signed(form):
            known = GuestForms(signed=form)
        elif form.answers and form.started_at.astimezone(zone).date() == day:
            known = GuestForms(known.signed, form)
        found[form.guest_ref] = known
    return found
