"""The shop's own tightening of the health questions: a level raised, a question added, taken back again."""

from app.actions.act import Act, Invalid
from app.records.guest_side.questions import own_changes, questions_now
from app.records.question_sets import CURRENT, QuestionSetError
from app.records.store.problems import NotHere
from app.records.tables.health_day import QuestionChangeRow
from app.rules.question_set import Part
from app.rules.question_tightening import ADD, BACK, RAISE, in_force, may_raise, next_code
from app.rules.screening_reasons import Level


def raise_level(act: Act, code: str, level: Level, reason: str) -> None:
    """Let a Yes to a question weigh more than it does now. Raises NotHere or Invalid."""
    question = questions_now(act.session).by_code.get(code)
    if question is None:
        raise NotHere(f"question {code}")
    if not may_raise(question, level):
        raise Invalid({"level": "That is not stricter than what holds now. Choose a stricter one."})
    row = _row(act, RAISE, code, reason)
    row.level = str(level)
    _add(act, row)


def add_question(act: Act, part: Part, text: str, hazard: str, level: Level, reason: str) -> None:
    """Ask one more question of every guest; the program gives it its code. Raises Invalid."""
    code = next_code(own_changes(act.session))
    if code is None:
        raise Invalid({"text": "All the codes for own questions are used up."})
    if not text.endswith("?"):
        raise Invalid({"text": "End the question with a question mark."})
    row = _row(act, ADD, code, reason)
    row.level, row.part, row.text, row.hazard = str(level), str(part), text, hazard
    _add(act, row)


def end_own(act: Act, code: str, reason: str) -> None:
    """Let what ships hold again for one code; raises NotHere when the shop tightened nothing there."""
    if code not in in_force(own_changes(act.session)):
        raise NotHere(f"own question {code}")
    _add(act, _row(act, BACK, code, reason))


def _add(act: Act, row: QuestionChangeRow) -> None:
    act.reason = row.reason
    act.add(row)
    try:
        questions_now(act.session)
    except QuestionSetError as problem:
        raise Invalid({"form": f"This cannot be asked: {'; '.join(problem.faults)}."}) from None


def _row(act: Act, kind: str, code: str, reason: str) -> QuestionChangeRow:
    return QuestionChangeRow(
        base=CURRENT,
        kind=kind,
        code=code,
        reason=reason,
        by_id=act.actor.person_id or 0,
        by=act.actor.name,
        at=act.now,
    )
