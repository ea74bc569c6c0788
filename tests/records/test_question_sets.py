"""Question sets on file: the shipped one is whole, and a faulty or loosened file stops with clear words."""

from collections import Counter
from pathlib import Path

import pytest

from app.records import question_sets
from app.records.question_sets import (
    CURRENT,
    QuestionSetError,
    load_question_set,
    shipped_question_set,
    shipped_versions,
)
from app.rules.question_set import Part
from app.rules.screening_reasons import Level

SHIPPED_TEXT = (Path(question_sets.__file__).parent / f"{CURRENT}.toml").read_text(encoding="utf-8")


def own_file(folder: Path, text: str) -> Path:
    """A shop's own question set."""
    path = folder / f"{CURRENT}.toml"
    path.write_text(text, encoding="utf-8")
    return path


def faults_of(folder: Path, old: str, new: str) -> tuple[str, ...]:
    """What is wrong with the shipped file after one change."""
    assert SHIPPED_TEXT.count(old) >= 1
    with pytest.raises(QuestionSetError) as refused:
        load_question_set(own_file(folder, SHIPPED_TEXT.replace(old, new, 1)))
    return refused.value.faults


@pytest.mark.parametrize("version", shipped_versions())
def test_every_shipped_version_loads(version: str) -> None:
    questions = shipped_question_set(version)

    assert questions.version == version
    assert questions.review


@pytest.mark.parametrize("version", shipped_versions())
def test_every_question_is_a_question_with_hazard_and_source(version: str) -> None:
    for question in shipped_question_set(version).questions:
        assert question.text.endswith("?"), question.code
        assert question.hours_text is None or question.hours_text.endswith("?")
        assert question.hazard
        assert question.source


def test_the_current_version_asks_what_it_should() -> None:
    questions = shipped_question_set()
    tops = Counter(question.part for question in questions.top_questions)
    levels = Counter(question.yes for question in questions.questions if question.yes is not None)

    assert tops == {Part.HISTORY: 13, Part.TODAY: 5}
    assert len(questions.questions) == 68
    assert levels == {
        Level.ASHORE: 13,
        Level.LETTER: 32,
        Level.TALK: 6,
        Level.NONE: 1,
    }
    assert [question.code for question in questions.questions if question.rest is Level.NONE] == [
        "MEDS",
        "OPER",
        "TRIP",
    ]
    assert {question.code for question in questions.questions if question.private} == {
        "BABY",
        "BABY.a",
        "BABY.b",
        "WILL",
        "WILL.a",
    }


def test_an_unknown_version_is_refused() -> None:
    with pytest.raises(QuestionSetError, match="no such version"):
        shipped_question_set("../2026-11")


def test_the_same_file_in_a_shops_folder_loads_the_same(tmp_path: Path) -> None:
    assert load_question_set(own_file(tmp_path, SHIPPED_TEXT)) == shipped_question_set()


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('yes = "L"', 'yes = "X"', "question LUNG.a: yes must be one of none, T, I, L, A, not 'X'"),
        ('yes = "L"', "yes = 3", "question LUNG.a: yes must be one of none, T, I, L, A, not 3"),
        ('text = "Do you take any medicine?"\n', "", "question MEDS: text is missing"),
        (
            'text = "Do you take any medicine?"',
            'text = " "',
            "question MEDS: text must be a text that is not empty",
        ),
        ('code = "LUNG.b"', 'code = "LUNG.a"', "LUNG.a: the code is used 2 times"),
        ('code = "LUNG"\n', 'code = "LUNX"\n', "LUNG.a: its parent LUNG is not in the set"),
        ('code = "LUNG"\n', 'code = ["LUNG"]\n', "question ['LUNG']: code must be a text that is not empty"),
        (
            'part = "today"',
            'part = "later"',
            "question COLD: part must be one of history, today, not 'later'",
        ),
        (
            'parent = "LUNG"\n',
            'parent = "LUNG"\npart = "today"\n',
            "question LUNG.a: part is not a known key",
        ),
        ("under_age = 16", "undr_age = 16", "question LUNG when: undr_age is not a known key"),
        (
            "under_age = 16",
            "under_age = true",
            "question LUNG when: under_age must be a whole number from 0 to 120, not True",
        ),
        (
            'where = "confined"',
            'where = "pool"',
            "question SWIM.a when: where must be one of open, confined, not 'pool'",
        ),
        (
            "slip_stands = true",
            'slip_stands = "yes"',
            "question DRNK: slip_stands must be true or false, not 'yes'",
        ),
        (
            "when = [{ under_age = 16",
            "when = [1, { under_age = 16",
            "question LUNG: when must be a list of tables",
        ),
        ('version = "2026-11"\n', "", "the file: version is missing"),
        ('version = "2026-11"', 'version = "2026-12"', "version must equal the file's name, 2026-11"),
        ('language = "en"', 'language = "en"\ncolour = "red"', "the file: colour is not a known key"),
        # The fixed refusals hold in a shop's own file too.
        (
            'code = "DRNK"\npart = "today"\nyes = "A"',
            'code = "DRNK"\npart = "today"\nyes = "T"',
            "DRNK: a fixed refusal must stay at level A",
        ),
        ('code = "BABY.a"', 'code = "BABY.c"', "BABY.a: a fixed refusal is missing"),
        ("slip_stands = true\n", "", "DRNK: a Yes must stand, nobody may call it a slip"),
        ("under_age = 18", "under_age = 12", "SUGR: SUGR-MINOR must refuse every guest under 18 at level A"),
    ],
)
def test_a_faulty_file_is_refused_and_the_fault_named(tmp_path: Path, old: str, new: str, fault: str) -> None:
    assert fault in faults_of(tmp_path, old, new)


def test_the_message_names_the_file_and_every_fault(tmp_path: Path) -> None:
    text = SHIPPED_TEXT.replace('yes = "L"', 'yes = "X"').replace('source = "', 'sauce = "', 1)

    with pytest.raises(QuestionSetError) as refused:
        load_question_set(own_file(tmp_path, text))

    assert len(refused.value.faults) == 34
    assert str(refused.value).startswith(f"Question set {CURRENT}.toml: question LUNG: source is missing; ")


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"version = ", "not readable TOML"),
        (b"\xff\xfe", "not readable TOML"),
        (b"", "version is missing"),
        (b'question = "none"', "question must be a list of tables"),
    ],
)
def test_a_file_that_is_no_question_set_is_refused(tmp_path: Path, content: bytes, fault: str) -> None:
    path = tmp_path / "own.toml"
    path.write_bytes(content)

    with pytest.raises(QuestionSetError, match=fault):
        load_question_set(path)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(QuestionSetError, match="cannot be read"):
        load_question_set(tmp_path / "gone.toml")
