"""A shop's own health questions: what ships, made stricter. Levels only rise, questions are only added."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from string import ascii_uppercase

from app.rules.question_set import LevelWhen, Part, Question, QuestionSet
from app.rules.screening_reasons import Level

RAISE, ADD, BACK = "raise", "add", "back"
# Codes of a shop's own questions: these four letters are kept free for them.
OWN_CODES = tuple(f"OWN{letter}" for letter in ascii_uppercase)
# What a Yes may be raised to; an unfinished form is nothing that an answer gives.
LEVELS = (Level.TALK, Level.LETTER, Level.ASHORE)
_SHOP = "the shop's own question"


@dataclass(frozen=True, slots=True)
class Change:
    """One step of tightening, numbered in the order in which it was made.

    kind: "raise" (code, level), "add" (code, level, part, text, hazard) or "back" (code): the shop's own
    tightening of this code ends, and what ships holds again.
    """

    number: int
    kind: str
    code: str
    level: Level = Level.NONE
    part: Part = Part.HISTORY
    text: str = ""
    hazard: str = ""


def tightened(base: QuestionSet, changes: Sequence[Change], last: int) -> QuestionSet:
    """Return the questions as asked once ``last`` was made: what ships with the shop's own on top.

    Levels that were raised later bind as well: an answer is never weighed more lightly than the shop asks
    for now. Questions that were added later were not asked, and are not part of the set.
    """
    raised = _raised(changes)
    questions = [_at_least(one, raised[one.code]) if one.code in raised else one for one in base.questions]
    for change in _added(changes, last):
        level = max(change.level, raised.get(change.code, Level.NONE), key=lambda one: one.rank)
        questions.append(Question(change.code, change.part, change.text, change.hazard, _SHOP, yes=level))
    return replace(base, questions=tuple(questions))


def in_force(changes: Iterable[Change]) -> dict[str, Change]:
    """Return the shop's own tightening that holds now, by code."""
    found: dict[str, Change] = {}
    for change in changes:
        if change.kind == BACK:
            found.pop(change.code, None)
        elif change.kind == ADD or change.code not in found or found[change.code].kind == RAISE:
            found[change.code] = change
        else:
            found[change.code] = replace(found[change.code], level=change.level)
    return found


def next_code(changes: Iterable[Change]) -> str | None:
    """Return the code of the shop's next question; None when every code was used, for none is used twice."""
    used = {change.code for change in changes if change.kind == ADD}
    return next((code for code in OWN_CODES if code not in used), None)


def may_raise(question: Question, level: Level) -> bool:
    """Return whether this level is stricter than what a Yes weighs somewhere, at some age."""
    weights = [question.yes if question.yes is not None else question.rest or Level.NONE]
    weights += [row.level for row in question.when]
    return level in LEVELS and any(level.rank > weight.rank for weight in weights)


def _raised(changes: Iterable[Change]) -> dict[str, Level]:
    return {code: change.level for code, change in in_force(changes).items()}


def _added(changes: Iterable[Change], last: int) -> list[Change]:
    return [one for one in in_force(one for one in changes if one.number <= last).values() if one.kind == ADD]


def _at_least(question: Question, level: Level) -> Question:
    """Return a question whose Yes weighs at least this, at every age and in every water."""

    def up(one: Level) -> Level:
        return max(one, level, key=lambda each: each.rank)

    return replace(
        question,
        yes=None if question.yes is None else up(question.yes),
        rest=None if question.rest is None else up(question.rest),
        when=tuple(LevelWhen(row.condition, up(row.level)) for row in question.when),
    )
