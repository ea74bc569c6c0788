"""The one form of one guest, as the handed-over tablet goes through it: what is asked, what is next."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from app.records.guest_side.questions import questions_now
from app.records.health.health import standing_of
from app.records.health.health_forms import GuestForms, forms_of, open_sheet
from app.records.health.health_rows import consents_of, newest
from app.records.health.letters import newest_paper
from app.records.setup.shop import limits_now, the_shop
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.tables.health import HealthFormRow
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import BOOKED, guest, party_view
from app.rules.answering import Sheet
from app.rules.asking import answer_to, asked, unanswered
from app.rules.consents import HEALTH_DATA
from app.rules.question_set import Part, Question, QuestionSet
from app.rules.screening import age_on
from app.rules.screening_policy import policy_in_force
from app.rules.translations import consent_stands


@dataclass(frozen=True)
class GuestForm:
    """Where one guest is in the form.

    day: the day of the booked slot. today: the shop's date. draft: answers begun today, not yet signed.
    paper_id: the newest parent's written paper on file for a minor; None without one.
    asks: the questions to answer in order, follow-ups once opened. consented: health answers may be stored.
    """

    guest: GuestRow
    day: date
    today: date
    age: int
    minor: bool
    consented: bool
    guardian_missing: bool
    forms: GuestForms
    questions: QuestionSet
    sheet: Sheet
    history_counts: bool
    paper_id: int | None = None

    @property
    def on_the_day(self) -> bool:
        """Whether today is the day of the dive: before it only the history is asked and signed."""
        return self.day == self.today

    @property
    def begins(self) -> bool:
        """Whether nothing was asked yet: the consent comes first."""
        return self.draft is None and not self.consented and not self.signed_today

    @property
    def draft(self) -> HealthFormRow | None:
        """The form being filled in; None before the guest began."""
        return self.forms.draft

    @property
    def kept(self) -> dict[Part, bool]:
        """The parts of the signed form that a new form need not ask again."""
        return {Part.HISTORY: self.history_counts, Part.TODAY: False}

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts that this form asks: history unless it is fresh, the day's part only on the day."""
        history = self.draft is None or self.draft.history_signed_at is None
        if self.draft is None:
            history = not self.history_counts
        return ((Part.HISTORY,) if history else ()) + ((Part.TODAY,) if self.on_the_day else ())

    @property
    def asks(self) -> list[Question]:
        """Every question to be answered now, in order."""
        codes = [
            code for part in self.parts for code in asked(self.questions, self.sheet.answers, self.age, part)
        ]
        return [self.questions.by_code[code] for code in codes]

    @property
    def next_number(self) -> int | None:
        """The place of the first question without a usable answer, counted from 1; None when none is left."""
        for number, question in enumerate(self.asks, 1):
            if self.lacks(question):
                return number
        return None

    @property
    def signed_today(self) -> bool:
        """Whether nothing is left to sign today."""
        signed = self.forms.signed
        if self.draft is not None or signed is None or not self.history_counts:
            return False
        return signed.today_signed_for == self.day or self.day != self.today

    @property
    def all_signed(self) -> bool:
        """Whether guest and guardian have signed everything that can be signed today."""
        return self.signed_today and not self.guardian_missing

    def lacks(self, question: Question) -> bool:
        """Whether a question has no usable answer."""
        return unanswered(answer_to(question, self.sheet.answers))


def guest_form(session: Session, house: House, guest_id: int | None, now: datetime) -> GuestForm:
    """Return where a guest is in the form; raises NotHere for one who is not booked or whose day is over."""
    row = guest(session, guest_id or 0)
    party = party_view(session, row.party_id)
    shop = the_shop(session)
    today, day = shop.day_of(now), party.slot.slot.day
    if row.state != BOOKED or party.party.state != BOOKED or day < today:
        raise NotHere("no form for this guest")
    policy = policy_in_force(limits_now(session))
    questions = questions_now(session)
    forms = forms_of(session, [row.ref], today, shop.zone).get(row.ref, GuestForms())
    signed = forms.signed
    at = None if signed is None else signed.history_signed_at
    age_of_history = None if at is None else (day - at.astimezone(shop.zone).date()).days
    health = newest(consents_of(session, row.ref), HEALTH_DATA.kind)
    stands = standing_of(session, house, row, day)
    age = age_on(row.birth_date, day)
    minor = age < policy.majority_age
    return GuestForm(
        guest=row,
        day=day,
        today=today,
        age=age,
        minor=minor,
        consented=health is not None
        and health.given
        and health.text_version == HEALTH_DATA.version
        and consent_stands(health.text_status, health.understood, health.interpreter),
        guardian_missing=minor and not stands.guardian_covers(day),
        forms=forms,
        questions=questions,
        sheet=(open_sheet(house, forms.draft) if forms.draft is not None else None) or Sheet(),
        paper_id=newest_paper(session, row.ref) if minor else None,
        history_counts=signed is not None
        and signed.question_version == questions.version
        and age_of_history is not None
        and 0 <= age_of_history <= policy.history_valid_days
        and open_sheet(house, signed) is not None,
    )


def mark_of(house: House, form: GuestForm, question: Question) -> str:
    """Return a keyed mark that ties a page to one question of one guest without naming it."""
    return house.master.digest("question", f"{form.guest.ref} {question.code}")[:24]
