"""The health screening: may this guest go in the water with us today? A gate, not a diagnosis.

Pure: the same answers, facts, questions and policy give the same result. Every reason is kept, and the
worst level is the outcome. Nothing here clears anyone for good: whoever is on the team may stop a guest, and
every outcome but CLEARED is explained and confirmed by a named person. Doctors, local law and the instructor
decide.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from app.rules.asking import Answer, Answers, affirmed, answer_to, asked, denied, unanswered
from app.rules.doctors_letter import Letter, with_letters
from app.rules.people import Where
from app.rules.question_set import Question, QuestionSet
from app.rules.screening_policy import SHIPPED, ScreeningPolicy
from app.rules.screening_reasons import Computed, Level, ReasonBook, ScreeningReason

# Changes whenever this program could judge the same answers differently.
RULE_SET_VERSION = "2026-11"


class Outcome(StrEnum):
    """What the worst reason means for today."""

    CLEARED = "CLEARED"
    TALK = "TALK"
    INCOMPLETE = "INCOMPLETE"
    LETTER = "LETTER"
    ASHORE = "ASHORE"

    @property
    def desk_words(self) -> str:
        """Return the only words that the desk, lists and prints show; they carry no cause."""
        return _DESK_WORDS[self]


_DESK_WORDS = {
    Outcome.CLEARED: "Ready (for today)",
    Outcome.TALK: "Instructor will talk first",
    Outcome.INCOMPLETE: "Form not finished",
    Outcome.LETTER: "Doctor's letter needed",
    Outcome.ASHORE: "Not today",
}
_OUTCOME_OF = {
    Level.NONE: Outcome.CLEARED,
    Level.TALK: Outcome.TALK,
    Level.INCOMPLETE: Outcome.INCOMPLETE,
    Level.LETTER: Outcome.LETTER,
    Level.ASHORE: Outcome.ASHORE,
}


@dataclass(frozen=True, slots=True)
class ScreeningCase:
    """One guest, one dive day, as stored or typed.

    age: whole years on the dive date. answers: a code that is absent is unanswered.
    history_signed_days: days from signing the history part to the dive; None when it is unsigned.
    today_signed: the today part was signed on the day of the dive.
    language_checked: the words shown were the original or a checked translation.
    guardian_consent: None when nobody was asked. fly_hours: hours from surfacing to take-off or altitude.
    letters: every letter that is not superseded.
    """

    dive_date: date
    age: int
    where: Where
    answers: Answers
    history_signed_days: int | None
    today_signed: bool
    language_checked: bool
    guardian_consent: bool | None = None
    fly_hours: float | None = None
    letters: tuple[Letter, ...] = ()


@dataclass(frozen=True, slots=True)
class ScreeningResult:
    """The outcome with every reason, worst first, and the versions it was reached with."""

    outcome: Outcome
    reasons: tuple[ScreeningReason, ...]
    rule_set_version: str
    question_version: str


def screen(case: ScreeningCase, questions: QuestionSet, policy: ScreeningPolicy = SHIPPED) -> ScreeningResult:
    """Return the outcome of one case. Odd stored data never raises: it leaves the form unfinished."""
    book = ReasonBook()
    _answer_reasons(book, case, questions, policy)
    _age_reasons(book, case, policy)
    _form_reasons(book, case, policy)
    reasons = with_letters(book.reasons(), case.letters, case.dive_date)
    return ScreeningResult(
        outcome=_OUTCOME_OF[ReasonBook(reasons).worst()],
        reasons=reasons,
        rule_set_version=RULE_SET_VERSION,
        question_version=questions.version,
    )


def _answer_reasons(
    book: ReasonBook, case: ScreeningCase, questions: QuestionSet, policy: ScreeningPolicy
) -> None:
    for code in case.answers.keys() - questions.by_code.keys():
        book.add(code, Level.INCOMPLETE)
    must_ask = frozenset(asked(questions, case.answers, case.age))
    for question in questions.questions:
        answer = answer_to(question, case.answers)
        if answer is Answer.UNREADABLE or (question.code in must_ask and unanswered(answer)):
            book.add(question.code, Level.INCOMPLETE)
        if answer is Answer.YES_THEN_NO_OK:
            book.add(Computed.FLIP, Level.TALK)
        if question.hours_text:
            book.add(Computed.FLY, fly_level(case.fly_hours, will_fly=affirmed(answer), policy=policy))
        if question.yes is not None and affirmed(answer):
            book.add(question.code, question.level(case.age, case.where))
    for top in questions.top_questions:
        _family_reasons(book, case, top, questions.follow_ups(top.code))


def _family_reasons(
    book: ReasonBook, case: ScreeningCase, top: Question, follow_ups: Sequence[Question]
) -> None:
    """Add what a top question and its follow-ups give together."""
    answer = answer_to(top, case.answers)
    below = [answer_to(follow_up, case.answers) for follow_up in follow_ups]
    if affirmed(answer) or any(affirmed(one) for one in below):
        for row in top.also:
            if row.condition.holds(case.age, case.where):
                book.add(row.code, row.level)
    if top.rest is None or not affirmed(answer):
        return
    if all(denied(one) for one in below):
        rest = top.level(case.age, case.where)
        # Somebody who is not sure is talked to even where a plain Yes would weigh nothing.
        book.add(top.code, Level.TALK if rest is Level.NONE and answer is Answer.NOT_SURE else rest)
    elif answer is Answer.NOT_SURE and not any(_spoke(book, follow_up) for follow_up in follow_ups):
        # A follow-up that weighs nothing (flying a day later) settles a Yes, not a doubt.
        book.add(top.code, Level.TALK)


def _spoke(book: ReasonBook, follow_up: Question) -> bool:
    return follow_up.code in book or (follow_up.hours_text is not None and Computed.FLY in book)


def _age_reasons(book: ReasonBook, case: ScreeningCase, policy: ScreeningPolicy) -> None:
    youngest = policy.youngest_open_water if case.where == "open" else policy.youngest_confined
    if case.age < max(youngest, policy.youngest_confined):
        book.add(Computed.AGE_MIN, Level.ASHORE)
    if case.age < policy.child_under_age:
        book.add(Computed.AGE_CHILD, Level.TALK)
    if max(case.age, 0) < policy.child_letter_age:
        book.add(Computed.AGE_CHILD, Level.LETTER)
    if case.age >= policy.talk_from_age:
        book.add(Computed.AGE_65, Level.TALK)
    if case.age < policy.majority_age and case.guardian_consent is not True:
        book.add(Computed.GUARD, Level.INCOMPLETE)


def _form_reasons(book: ReasonBook, case: ScreeningCase, policy: ScreeningPolicy) -> None:
    if not case.language_checked:
        book.add(Computed.LANG, Level.TALK)
    days = case.history_signed_days
    # A signature dated after the dive is no signature.
    if days is None or not 0 <= days <= policy.history_valid_days:
        book.add(Computed.HIST_STALE, Level.INCOMPLETE)
    if not case.today_signed:
        book.add(Computed.TODAY_STALE, Level.INCOMPLETE)


def fly_level(hours: float | None, *, will_fly: bool, policy: ScreeningPolicy = SHIPPED) -> Level:
    """Return the level of flying ``hours`` after surfacing; ``None`` or not a number is unknown.

    Hours count whenever they were given. Unknown hours hold the form only for a guest who will fly, or may.
    """
    if hours is None or not math.isfinite(hours):
        return Level.INCOMPLETE if will_fly or hours is not None else Level.NONE
    if hours < policy.no_fly_h:
        return Level.ASHORE
    return Level.TALK if hours < policy.no_fly_advise_h else Level.NONE


def age_on(birth_date: date, day: date) -> int:
    """Return the age in whole years on ``day``; negative before birth.

    Somebody born on 29 February turns a year older on 1 March of a common year, the cautious side.
    """
    before_birthday = (day.month, day.day) < (birth_date.month, birth_date.day)
    return day.year - birth_date.year - int(before_birthday)
