"""One guest's sheet of answers while it is filled in: what is stored when an answer is given or changed.

A Yes is never wiped out by a later No: the sheet remembers it and stores that the answer was changed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from app.rules.asking import Answer, Answers, affirmed
from app.rules.question_set import Part, QuestionSet


@dataclass(frozen=True, slots=True)
class Sheet:
    """Answers by code; ``before`` holds what an answer must not fall back behind.

    before: ``YES`` once a Yes was given (or once Yes or Not sure was signed), ``YES_THEN_NO_OK`` once a
    change from Yes to No was recorded as an honest slip. fly_hours: hours from the dive to flying or going
    high, as the guest said; None when not said. signed_hours: hours signed earlier the same day, which a
    later answer may shorten and not lengthen.
    """

    answers: Answers = field(default_factory=dict)
    before: Answers = field(default_factory=dict)
    fly_hours: float | None = None
    signed_hours: float | None = None


def answered(sheet: Sheet, code: str, said: Answer, fly_hours: float | None = None) -> Sheet:
    """Return the sheet after the guest said Yes, No or Not sure to one question.

    Hours are changed only when some were given: a flight that was named does not vanish with a No.
    Raises ``ValueError`` for a word that is no answer of a guest.
    """
    if said not in (Answer.YES, Answer.NO, Answer.NOT_SURE):
        raise ValueError("A guest says Yes, No or Not sure.")
    stands: Answer = said
    before = dict(sheet.before)
    if said is Answer.YES:
        before[code] = Answer.YES
    elif said is Answer.NO and code in before:
        stands = Answer.YES_THEN_NO if before[code] is Answer.YES else Answer.YES_THEN_NO_OK
    hours = sheet.fly_hours if fly_hours is None else fly_hours
    if hours is not None and sheet.signed_hours is not None:
        hours = min(hours, sheet.signed_hours)
    return Sheet({**sheet.answers, code: stands}, before, hours, sheet.signed_hours)


def slip_recorded(sheet: Sheet, code: str) -> Sheet:
    """Return the sheet after a change from Yes to No was recorded as an honest slip.

    Raises ``ValueError`` when this answer was not changed from Yes to No.
    """
    if sheet.answers.get(code) is not Answer.YES_THEN_NO:
        raise ValueError("This answer was not changed from Yes to No.")
    return replace(
        sheet,
        answers={**sheet.answers, code: Answer.YES_THEN_NO_OK},
        before={**sheet.before, code: Answer.YES_THEN_NO_OK},
    )


def slip_undone(sheet: Sheet, code: str) -> Sheet:
    """Return the sheet after two named people undid a slip of the finger in today's part: No, with a talk.

    Raises ``ValueError`` when this answer does not count as Yes.
    """
    if not affirmed(sheet.answers.get(code, Answer.MISSING)):
        raise ValueError("This answer does not count as Yes.")
    return replace(
        sheet,
        answers={**sheet.answers, code: Answer.YES_THEN_NO_OK},
        before={**sheet.before, code: Answer.YES_THEN_NO_OK},
    )


def next_sheet(
    signed: Sheet | None, questions: QuestionSet, kept: Mapping[Part, bool], *, same_day: bool
) -> Sheet:
    """Return the sheet that a new form starts from.

    kept: the parts whose signed answers still count, and which are therefore not asked again. Every other
    part starts empty, but remembers what was said: the history always, the day's part and the hours to
    flying on the same day.
    """
    if signed is None:
        return Sheet()
    answers: dict[str, Answer] = {}
    before: dict[str, Answer] = {}
    for code in signed.answers.keys() | signed.before.keys():
        question = questions.by_code.get(code)
        part = Part.HISTORY if question is None else question.part
        answer = signed.answers.get(code, Answer.MISSING)
        if kept.get(part, False) and code in signed.answers:
            answers[code] = answer
        if part is Part.HISTORY or same_day:
            if affirmed(answer):
                before[code] = Answer.YES
            elif code in signed.before:
                before[code] = signed.before[code]
    hours = signed.fly_hours if same_day else None
    return Sheet(answers, before, hours, hours)
