"""One version of the health questions as plain values: what is asked, of whom, and what a Yes weighs."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from app.rules.people import Where
from app.rules.screening_reasons import Level


class Part(StrEnum):
    """Which signature a question belongs to."""

    HISTORY = "history"
    TODAY = "today"


WATERS: tuple[Where, ...] = ("open", "confined")


@dataclass(frozen=True, slots=True)
class Condition:
    """Facts that must all hold; ages in whole years on the day of the dive, ``None`` does not restrict."""

    under_age: int | None = None
    from_age: int | None = None
    where: Where | None = None

    def holds(self, age: int, where: Where) -> bool:
        """Return whether a guest of ``age`` in that water meets every fact."""
        return (
            (self.under_age is None or age < self.under_age)
            and (self.from_age is None or age >= self.from_age)
            and (self.where is None or where == self.where)
        )


@dataclass(frozen=True, slots=True)
class LevelWhen:
    """A level that replaces a question's usual one while its condition holds."""

    condition: Condition
    level: Level


@dataclass(frozen=True, slots=True)
class AlsoReason:
    """A further reason under a code of its own, given when anything in a question's family is Yes."""

    code: str
    condition: Condition
    level: Level


@dataclass(frozen=True, slots=True)
class Question:
    """One question: the words the guest sees, what it looks for, where that comes from, what Yes weighs.

    Exactly one of ``yes`` and ``rest`` is set. ``yes`` is the level of a Yes. ``rest``, only on a top
    question with follow-ups, is its level when it is Yes and every follow-up is No.
    """

    code: str
    part: Part
    text: str
    hazard: str
    source: str
    parent: str | None = None
    yes: Level | None = None
    rest: Level | None = None
    when: tuple[LevelWhen, ...] = ()
    also: tuple[AlsoReason, ...] = ()
    # Not asked to younger guests; a stored answer still counts.
    asked_from_age: int | None = None
    # A Yes here is never undone as a slip of the finger.
    slip_stands: bool = False
    # Asked where nobody reads along.
    private: bool = False
    # Words that ask for the hours until flying; the hours, not the Yes, then give the level.
    hours_text: str | None = None

    def level(self, age: int, where: Where) -> Level:
        """Return the level of ``yes`` (or ``rest``) for a guest of ``age`` (whole years) in that water.

        Where several conditions hold, the strictest of their levels binds.
        """
        replaced = [row.level for row in self.when if row.condition.holds(age, where)]
        usual = self.yes if self.yes is not None else self.rest
        return max(replaced or [usual or Level.NONE], key=lambda level: level.rank)

    def asked_at(self, age: int) -> bool:
        """Return whether a guest of ``age`` (whole years) is asked this question at all."""
        return self.asked_from_age is None or age >= self.asked_from_age


def hours_code(question: Question) -> str:
    """Return the code of the words that ask for the hours of a question."""
    return f"{question.code}.hours"


@dataclass(frozen=True)
class QuestionSet:
    """Every question of one version, in the order they are asked.

    ``review`` says who has looked at this version, in words a manager can read.
    """

    version: str
    language: str
    review: str
    questions: tuple[Question, ...]

    @cached_property
    def by_code(self) -> Mapping[str, Question]:
        """Return each question under its code."""
        return {question.code: question for question in self.questions}

    @cached_property
    def top_questions(self) -> tuple[Question, ...]:
        """Return the questions that are not follow-ups, in order."""
        return tuple(question for question in self.questions if question.parent is None)

    @cached_property
    def _families(self) -> Mapping[str, tuple[Question, ...]]:
        return {
            top.code: tuple(question for question in self.questions if question.parent == top.code)
            for top in self.top_questions
        }

    def follow_ups(self, code: str) -> tuple[Question, ...]:
        """Return the follow-ups of a top question, in order; none for any other code."""
        return self._families.get(code, ())

    @cached_property
    def reason_codes(self) -> frozenset[str]:
        """Return every reason code that this set's own questions can give."""
        also = {row.code for question in self.questions for row in question.also}
        return frozenset(self.by_code) | also
