"""Question sets on file: one TOML file per version, read and checked as a whole before anybody is asked.

A shop's own file goes through the same checks, so it cannot loosen a fixed refusal.
"""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from app.records.question_sets.toml_table import Table
from app.rules.question_checks import faults
from app.rules.question_set import AlsoReason, Condition, LevelWhen, Part, Question, QuestionSet

CURRENT = "2026-11"
_FOLDER = Path(__file__).parent


class QuestionSetError(ValueError):
    """A question set that must not be used; ``faults`` says everything that is wrong with it."""

    def __init__(self, name: str, found: list[str]) -> None:
        self.faults = tuple(found)
        super().__init__(f"Question set {name}: " + "; ".join(found) + ".")


def shipped_versions() -> tuple[str, ...]:
    """Return the versions that come with the program, oldest first."""
    return tuple(sorted(path.stem for path in _FOLDER.glob("*.toml")))


@cache
def shipped_question_set(version: str = CURRENT) -> QuestionSet:
    """Return one shipped version. Raises ``QuestionSetError`` when there is none or it is faulty."""
    if version not in shipped_versions():
        raise QuestionSetError(version, ["no such version is shipped"])
    return load_question_set(_FOLDER / f"{version}.toml")


def load_question_set(path: Path) -> QuestionSet:
    """Return the checked question set of a file, shipped or the shop's own.

    Raises ``QuestionSetError`` with every fault at once: a file that cannot be read, an unknown key or level,
    a missing text, a code used twice, a follow-up without its parent, a fixed refusal missing or loosened.
    """
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as problem:
        raise QuestionSetError(path.name, [f"the file cannot be read ({problem.strerror})"]) from problem
    except ValueError as problem:
        raise QuestionSetError(path.name, [f"the file is not readable TOML ({problem})"]) from problem
    questions, unreadable = _question_set(raw)
    found = unreadable or faults(questions)
    if questions.version != path.stem:
        found.append(f"version must equal the file's name, {path.stem}")
    if found:
        raise QuestionSetError(path.name, found)
    return questions


def _question_set(raw: dict[str, Any]) -> tuple[QuestionSet, list[str]]:
    """Return what could be read, and what could not."""
    top = Table(raw, "the file")
    version, language, review = (top.text(key) for key in ("version", "language", "review"))
    tables = top.tables("question", lambda number, row: f"question {row.get('code') or number}")
    top.nothing_else()
    parts = {str(table.raw.get("code")): table.raw.get("part") for table in tables}
    questions = tuple(_question(table, parts) for table in tables)
    return QuestionSet(version, language, review, questions), top.faults


def _question(table: Table, parts: dict[str, Any]) -> Question:
    parent = table.optional_text("parent")
    if parent is None:
        part = table.word("part", Part)
    else:
        # A follow-up is signed with its parent; one without a parent on file is refused by the checks.
        part = Part.TODAY if parts.get(parent) == Part.TODAY else Part.HISTORY
    question = Question(
        code=table.text("code"),
        part=part or Part.HISTORY,
        text=table.text("text"),
        hazard=table.text("hazard"),
        source=table.text("source"),
        parent=parent,
        yes=table.level("yes") if "yes" in table.raw else None,
        rest=table.level("rest") if "rest" in table.raw else None,
        when=tuple(_level_when(row) for row in table.tables("when")),
        also=tuple(_also(row) for row in table.tables("also")),
        asked_from_age=table.age("asked_from_age"),
        slip_stands=table.flag("slip_stands"),
        private=table.flag("private"),
        hours_text=table.optional_text("hours_text"),
    )
    table.nothing_else()
    return question


def _level_when(row: Table) -> LevelWhen:
    read = LevelWhen(_condition(row), row.level("level"))
    row.nothing_else()
    return read


def _also(row: Table) -> AlsoReason:
    read = AlsoReason(row.text("code"), _condition(row), row.level("level"))
    row.nothing_else()
    return read


def _condition(row: Table) -> Condition:
    return Condition(row.age("under_age"), row.age("from_age"), row.water("where"))
