"""The screening engine: vectors written by hand, then each rule at its edges."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from app.records.question_sets import shipped_question_set
from app.rules.asking import Answer
from app.rules.doctors_letter import Letter, Verdict
from app.rules.screening import (
    Outcome,
    ScreeningCase,
    age_on,
    fly_level,
    screen,
)
from app.rules.screening_policy import SHIPPED
from app.rules.screening_reasons import Level

QUESTIONS = shipped_question_set()
VECTORS = json.loads(Path(__file__).with_name("screening_vectors.json").read_text(encoding="utf-8"))
DAY = date(2026, 7, 15)


def answered(words: dict[str, str]) -> dict[str, Answer]:
    """Everything asked and answered No, except these."""
    return dict.fromkeys(QUESTIONS.by_code, Answer.NO) | {code: Answer(word) for code, word in words.items()}


def guest(words: dict[str, str] | None = None, **changes: Any) -> ScreeningCase:
    """An adult of 30 with a finished form for open water."""
    case = ScreeningCase(
        dive_date=DAY,
        age=30,
        where="open",
        answers=answered(words or {}),
        history_signed_days=0,
        today_signed=True,
        language_checked=True,
    )
    return replace(case, **changes)


def child(age: int, words: dict[str, str] | None = None, **changes: Any) -> ScreeningCase:
    """A minor with a guardian's consent."""
    return guest(words, **({"age": age, "guardian_consent": True} | changes))


def reasons(case: ScreeningCase) -> set[str]:
    return {str(reason) for reason in screen(case, QUESTIONS).reasons}


def from_vector(case: dict[str, Any]) -> ScreeningCase:
    letter = case["letter"]
    return ScreeningCase(
        dive_date=date.fromisoformat(case["dive_date"]),
        age=case["age"],
        where=case["site"],
        answers=answered(case["answers"]),
        history_signed_days=case["hist_days"],
        today_signed=case["today"] == "Y",
        language_checked=case["lang"] == "ok",
        guardian_consent={"Y": True, "N": False, "-": None}[case["guardian"]],
        fly_hours=case["fly_h"],
        letters=()
        if letter is None
        else (
            Letter(
                verdict=Verdict(letter["verdict"]),
                issued=date.fromisoformat(letter["iss"]),
                has_scan=letter["scan"] == "Y",
                expires=None if letter["exp"] is None else date.fromisoformat(letter["exp"]),
                covers=frozenset(letter["cov"]),
            ),
        ),
    )


def test_all_forty_vectors_are_there() -> None:
    assert [row["case"]["id"] for row in VECTORS] == [f"V{number:02}" for number in range(1, 41)]


@pytest.mark.parametrize("row", VECTORS, ids=lambda row: row["case"]["id"])
def test_vector(row: dict[str, Any]) -> None:
    result = screen(from_vector(row["case"]), QUESTIONS)

    assert result.outcome == row["outcome"]
    assert {str(reason) for reason in result.reasons} == set(row["reasons"])
    assert len(result.reasons) == len(row["reasons"])


@pytest.mark.parametrize(
    ("case", "expected"),
    [
        # A follow-up counts even under a No; the top question then says nothing.
        (guest({"HEAD.b": "Y"}), {"HEAD.b/A"}),
        # A missing top answer and a missing opened follow-up hold the form; an unopened one does not.
        (guest({"HART": "-"}), {"HART/I"}),
        (guest({"HART": "Y", "HART.b": "-"}), {"HART.b/I"}),
        (guest({"HART.b": "-"}), set()),
        (guest({"COLD": "-", "COLD.a": "Y"}), {"COLD/I", "COLD.a/A"}),
        (guest({"DRNK": "-"}), {"DRNK/I"}),
        # Not sure: T on a question whose Yes alone weighs nothing, Yes where a Yes weighs.
        (guest({"MEDS": "?"}), {"MEDS/T"}),
        (guest({"TRIP": "?"}), {"TRIP/T"}),
        (guest({"LUNG": "?"}), {"LUNG/T"}),
        (guest({"OPER": "?", "OPER.a": "?"}), {"OPER.a/L"}),
        (guest({"OPER": "?", "OPER.a": "-"}), {"OPER.a/I"}),
        (guest({"TRIP": "?", "TRIP.a": "Y"}, fly_hours=30), {"TRIP/T"}),
        (guest({"TRIP": "?", "TRIP.a": "Y"}, fly_hours=20), {"FLY/T"}),
        # A Yes taken back is Yes; an honest slip is No with a talk; alcohol is never a slip.
        (guest({"BABY.a": "Y>N"}), {"BABY.a/A"}),
        (guest({"DRNK": "Y>N"}), {"DRNK/A"}),
        (guest({"DRNK": "Y>Nok"}), {"DRNK/A"}),
        (guest({"HART": "Y>Nok"}), {"FLIP/T"}),
        (guest({"LUNG": "Y", "LUNG.c": "Y>Nok", "LUNG.a": "Y>Nok"}), {"LUNG/T", "FLIP/T"}),
        # Flying.
        (guest(fly_hours=10), {"FLY/A"}),
        (guest({"TRIP": "Y", "TRIP.a": "Y"}, fly_hours=17.999), {"FLY/A"}),
        (guest({"TRIP": "Y", "TRIP.a": "Y"}, fly_hours=23.999), {"FLY/T"}),
        (guest({"TRIP": "Y", "TRIP.a": "Y"}, fly_hours=24), set()),
        (guest({"TRIP": "Y", "TRIP.a": "?"}), {"FLY/I"}),
        (guest({"TRIP": "Y", "TRIP.a": "-"}), {"TRIP.a/I"}),
        # Form and language.
        (guest(history_signed_days=30), set()),
        (guest(history_signed_days=31), {"HIST-STALE/I"}),
        (guest(history_signed_days=None), {"HIST-STALE/I"}),
        (guest(history_signed_days=-1), {"HIST-STALE/I"}),
        (guest(today_signed=False, language_checked=False), {"TODAY-STALE/I", "LANG/T"}),
    ],
)
def test_answer_and_form_rules(case: ScreeningCase, expected: set[str]) -> None:
    assert reasons(case) == expected


@pytest.mark.parametrize(
    ("case", "expected"),
    [
        (child(15, {"LUNG": "Y"}), {"LUNG/L", "AGE-CHILD/T"}),
        (child(16, {"LUNG": "Y"}), {"LUNG/T"}),
        (child(15, {"LUNG": "?"}), {"LUNG/L", "AGE-CHILD/T"}),
        (child(15, {"LUNG": "Y", "LUNG.c": "Y"}), {"LUNG.c/L", "AGE-CHILD/T"}),
        (guest({"BODY.c": "Y"}, age=44), {"BODY.c/T"}),
        (guest({"BODY.c": "Y"}, age=45), {"BODY.c/L"}),
        (guest({"RISK": "Y"}, age=44), {"RISK/T"}),
        (guest({"RISK": "?"}, age=44), {"RISK/T"}),
        (guest({"RISK": "?"}, age=45), {"RISK/L"}),
        (guest({"RISK": "-"}, age=44), set()),
        (child(17, {"SUGR": "Y"}), {"SUGR-MINOR/A", "SUGR/T"}),
        (child(17, {"SUGR": "?"}), {"SUGR-MINOR/A", "SUGR/T"}),
        (child(17, {"SUGR.c": "Y"}), {"SUGR-MINOR/A", "SUGR.c/L"}),
        (guest({"SUGR": "Y"}, age=18), {"SUGR/T"}),
        (child(7, where="confined"), {"AGE-MIN/A", "AGE-CHILD/T"}),
        (child(8, where="confined"), {"AGE-CHILD/T"}),
        (child(9), {"AGE-MIN/A", "AGE-CHILD/T"}),
        (child(10), {"AGE-CHILD/T"}),
        (child(16), set()),
        (child(17, guardian_consent=None), {"GUARD/I"}),
        (guest(age=18, guardian_consent=False), set()),
        (guest(age=64), set()),
        (guest(age=65), {"AGE-65/T"}),
        (guest(age=-1, guardian_consent=True), {"AGE-MIN/A", "AGE-CHILD/T"}),
    ],
)
def test_age_rules_at_their_edges(case: ScreeningCase, expected: set[str]) -> None:
    assert reasons(case) == expected


def test_a_live_form_without_answers_asks_every_top_question() -> None:
    result = screen(guest(answers={}, age=45), QUESTIONS)

    assert result.outcome is Outcome.INCOMPLETE
    assert {reason.code for reason in result.reasons} == {top.code for top in QUESTIONS.top_questions}


def test_odd_stored_answers_leave_the_form_unfinished_wherever_they_stand() -> None:
    answers = answered({"HART.b": "unreadable"}) | {"GONE.a": Answer.YES}

    assert reasons(guest(answers=answers)) == {"HART.b/I", "GONE.a/I"}


def test_odd_hours_are_unknown_not_long() -> None:
    assert fly_level(float("nan"), will_fly=False) is Level.INCOMPLETE
    assert fly_level(float("inf"), will_fly=True) is Level.INCOMPLETE
    assert fly_level(-1, will_fly=True) is Level.ASHORE
    assert fly_level(None, will_fly=False) is Level.NONE


def test_reasons_come_worst_first_then_by_code_and_versions_are_kept() -> None:
    case = guest({"MEDS": "?", "HART.c": "Y", "DRNK": "Y", "EARS": "-", "BABY.a": "Y"}, age=66)
    result = screen(case, QUESTIONS)

    assert [str(reason) for reason in result.reasons] == [
        "BABY.a/A",
        "DRNK/A",
        "HART.c/L",
        "EARS/I",
        "AGE-65/T",
        "MEDS/T",
    ]
    assert result.outcome is Outcome.ASHORE
    assert result.question_version == "2026-11"
    assert result.rule_set_version


def test_a_stricter_policy_binds() -> None:
    policy = replace(SHIPPED, child_letter_age=16, youngest_confined=12, history_valid_days=7, no_fly_h=20)
    case = child(11, {"TRIP.a": "Y"}, where="confined", history_signed_days=8, fly_hours=19)

    found = {str(reason) for reason in screen(case, QUESTIONS, policy).reasons}

    assert found == {"AGE-MIN/A", "AGE-CHILD/L", "HIST-STALE/I", "FLY/A"}


def test_a_letter_that_covers_the_age_settles_a_childs_letter_into_a_talk() -> None:
    letter = Letter(Verdict.FIT, date(2026, 7, 1), has_scan=True, covers=frozenset({"AGE-CHILD"}))

    result = screen(child(12, letters=(letter,)), QUESTIONS, replace(SHIPPED, child_letter_age=16))

    assert [str(reason) for reason in result.reasons] == ["AGE-CHILD/T"]


def test_the_desk_reads_a_word_without_a_cause() -> None:
    assert [outcome.desk_words for outcome in Outcome] == [
        "Ready (for today)",
        "Instructor will talk first",
        "Form not finished",
        "Doctor's letter needed",
        "Not today",
    ]


@pytest.mark.parametrize(
    ("born", "day", "age"),
    [
        (date(2016, 7, 15), date(2026, 7, 14), 9),
        (date(2016, 7, 15), date(2026, 7, 15), 10),
        (date(2016, 2, 29), date(2026, 2, 28), 9),
        (date(2016, 2, 29), date(2026, 3, 1), 10),
        (date(2016, 2, 29), date(2024, 2, 29), 8),
        (date(2026, 12, 1), date(2026, 7, 15), -1),
    ],
)
def test_age_is_in_whole_years_on_the_day(born: date, day: date, age: int) -> None:
    assert age_on(born, day) == age
