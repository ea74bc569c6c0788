"""The health questions of a shop: what ships, with the shop's own tightening on top, by version.

A version is the shipped one, and behind a plus the number of the newest change that it holds: "2026-11+4".
"""

from collections.abc import Sequence
from functools import lru_cache

from sqlmodel import Session, col, select

from app.records.question_sets import CURRENT, QuestionSetError, shipped_question_set, shipped_versions
from app.records.tables.health_day import QuestionChangeRow
from app.rules.question_checks import faults
from app.rules.question_set import Part, QuestionSet
from app.rules.question_tightening import Change, tightened
from app.rules.screening_reasons import Level


def own_changes(session: Session) -> list[Change]:
    """Return every step of the shop's own tightening, in the order in which it was made."""
    rows = session.exec(select(QuestionChangeRow).order_by(col(QuestionChangeRow.id)))
    return [change_of(row) for row in rows]


def history(session: Session) -> list[QuestionChangeRow]:
    """Return every step of the shop's own tightening as stored, newest first."""
    return list(session.exec(select(QuestionChangeRow).order_by(col(QuestionChangeRow.id).desc())))


def change_of(row: QuestionChangeRow) -> Change:
    """Return a stored step as the rules ask for it."""
    return Change(
        number=row.id or 0,
        kind=row.kind,
        code=row.code,
        level=Level(row.level) if row.level else Level.NONE,
        part=Part(row.part) if row.part else Part.HISTORY,
        text=row.text,
        hazard=row.hazard,
    )


def question_set(version: str, changes: Sequence[Change]) -> QuestionSet | None:
    """Return the questions of a version; None when this program or this shop does not know it."""
    base, _, last = version.partition("+")
    if base not in shipped_versions() or (last and not last.isdecimal()):
        return None
    number = int(last or 0)
    if number and number not in {change.number for change in changes}:
        return None
    whole = tightened(shipped_question_set(base), changes, number)
    return QuestionSet(version, whole.language, whole.review, whole.questions)


def newest_version(changes: Sequence[Change]) -> str:
    """Return the version that is asked now."""
    return f"{CURRENT}+{changes[-1].number}" if changes else CURRENT


@lru_cache(maxsize=8)
def _faults(questions: QuestionSet) -> list[str]:
    """Judge a set once: it is the same at every answer of every guest, and judging it takes 10 ms."""
    return faults(questions)


def questions_now(session: Session) -> QuestionSet:
    """Return the questions that are asked now; raises QuestionSetError when they must not be used."""
    changes = own_changes(session)
    version = newest_version(changes)
    found = question_set(version, changes)
    wrong = [f"{version} is not known"] if found is None else _faults(found)
    if found is None or wrong:
        raise QuestionSetError(version, wrong)
    return found
