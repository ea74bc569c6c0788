"""Answers, and which questions a guest must still be asked."""

from collections.abc import Mapping
from enum import StrEnum

from app.rules.question_set import Part, Question, QuestionSet


class Answer(StrEnum):
    """What stands beside a question. Nothing is ever pre-set; unanswered is never No."""

    NO = "N"
    YES = "Y"
    NOT_SURE = "?"
    MISSING = "-"
    # Changed from Yes to No: still counts as Yes.
    YES_THEN_NO = "Y>N"
    # The same, recorded as an honest slip: No, with a talk.
    YES_THEN_NO_OK = "Y>Nok"
    # A stored word that this version cannot read; it leaves the form unfinished wherever it stands.
    UNREADABLE = "unreadable"


Answers = Mapping[str, Answer]
_WORDS: Mapping[str, Answer] = {answer.value: answer for answer in Answer}
_AFFIRMED = frozenset({Answer.YES, Answer.NOT_SURE, Answer.YES_THEN_NO})
_OPEN = frozenset({Answer.MISSING, Answer.UNREADABLE})


def read_answers(stored: Mapping[str, object]) -> dict[str, Answer]:
    """Return stored words as answers; a word that is not one becomes ``UNREADABLE``, never an exception."""
    return {
        code: _WORDS.get(word, Answer.UNREADABLE) if isinstance(word, str) else Answer.UNREADABLE
        for code, word in stored.items()
    }


def answer_to(question: Question, answers: Answers) -> Answer:
    """Return the answer as it counts.

    Absent is ``MISSING``, a word that is no answer is ``UNREADABLE``, a slip where a Yes stands is Yes.
    """
    answer = _WORDS.get(answers.get(question.code, Answer.MISSING), Answer.UNREADABLE)
    if answer is Answer.YES_THEN_NO_OK and question.slip_stands:
        return Answer.YES
    return answer


def affirmed(answer: Answer) -> bool:
    """Return whether an answer opens follow-ups and, where ``yes`` weighs, counts as Yes."""
    return answer in _AFFIRMED


def denied(answer: Answer) -> bool:
    """Return whether an answer counts as No."""
    return answer in (Answer.NO, Answer.YES_THEN_NO_OK)


def unanswered(answer: Answer) -> bool:
    """Return whether nothing usable stands there."""
    return answer in _OPEN


def asked(questions: QuestionSet, answers: Answers, age: int, part: Part | None = None) -> list[str]:
    """Return the codes that must be asked, in order: each top question, then its follow-ups once opened.

    ``age`` is in whole years on the day of the dive. ``part`` narrows to one signature; ``None`` means both.
    """
    codes: list[str] = []
    for top in questions.top_questions:
        if not top.asked_at(age) or (part is not None and top.part is not part):
            continue
        codes.append(top.code)
        if affirmed(answer_to(top, answers)):
            codes += [follow_up.code for follow_up in questions.follow_ups(top.code)]
    return codes
