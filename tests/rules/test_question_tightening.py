"""A shop's own questions only ever make the result stricter, and never touch what must not be loosened."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from app.records.question_sets import shipped_question_set
from app.rules.asking import Answer
from app.rules.question_checks import faults
from app.rules.question_set import Part
from app.rules.question_tightening import (
    ADD,
    BACK,
    LEVELS,
    OWN_CODES,
    RAISE,
    Change,
    in_force,
    may_raise,
    next_code,
    tightened,
)
from app.rules.screening import Outcome, ScreeningCase, screen
from app.rules.screening_reasons import Level
from tests.rules.test_screening_properties import cases

BASE = shipped_question_set()
CODES = list(BASE.by_code)
ORDER = list(Outcome)
ASKED = Change(1, ADD, "OWNA", Level.LETTER, Part.HISTORY, "Did you ever live above 3,000 m?", "Thin air")


def raising(number: int, code: str, level: Level) -> Change:
    return Change(number, RAISE, code, level)


@given(
    cases,
    st.lists(
        st.builds(raising, st.just(1), st.sampled_from(CODES), st.sampled_from(LEVELS)),
        max_size=4,
        min_size=1,
    ),
)
def test_tightening_never_makes_an_outcome_milder(case: ScreeningCase, raised: list[Change]) -> None:
    own = tightened(BASE, [replace(one, number=n) for n, one in enumerate(raised, 1)], len(raised))

    assert ORDER.index(screen(case, own).outcome) >= ORDER.index(screen(case, BASE).outcome)


@given(cases, st.sampled_from(Answer), st.sampled_from(LEVELS))
def test_a_question_more_never_makes_an_outcome_milder(
    case: ScreeningCase, said: Answer, level: Level
) -> None:
    own = tightened(BASE, [replace(ASKED, level=level)], 1)
    case = replace(case, answers={**case.answers, "OWNA": said})
    before = replace(case, answers={code: one for code, one in case.answers.items() if code != "OWNA"})

    assert ORDER.index(screen(case, own).outcome) >= ORDER.index(screen(before, BASE).outcome)


@given(st.lists(st.builds(raising, st.just(1), st.sampled_from(CODES), st.sampled_from(LEVELS)), max_size=6))
def test_a_tightened_set_passes_the_checks_of_every_set(raised: list[Change]) -> None:
    assert faults(tightened(BASE, [*raised, replace(ASKED, number=9)], 9)) == []


def test_a_raised_level_holds_at_every_age_and_a_fixed_refusal_stays() -> None:
    own = tightened(BASE, [raising(1, "LUNG", Level.LETTER), raising(2, "SWIM.a", Level.LETTER)], 2)

    assert own.by_code["LUNG"].level(30, "open") is Level.LETTER
    assert BASE.by_code["LUNG"].level(30, "open") is Level.TALK
    assert own.by_code["SWIM.a"].level(30, "open") is Level.ASHORE
    assert own.by_code["SWIM.a"].level(30, "confined") is Level.LETTER


def test_only_what_is_stricter_somewhere_may_be_set() -> None:
    assert may_raise(BASE.by_code["LUNG"], Level.LETTER)
    assert not may_raise(BASE.by_code["LUNG.b"], Level.ASHORE)
    assert not may_raise(BASE.by_code["LUNG.c"], Level.TALK)
    assert not may_raise(BASE.by_code["LUNG.c"], Level.NONE)
    assert may_raise(BASE.by_code["MEDS"], Level.TALK)


def test_what_was_added_later_was_not_asked_and_what_was_raised_later_binds() -> None:
    changes = [ASKED, raising(2, "LUNG", Level.LETTER), Change(3, BACK, "OWNA")]

    assert "OWNA" in tightened(BASE, changes, 1).by_code
    assert tightened(BASE, changes, 1).by_code["LUNG"].rest is Level.LETTER
    assert "OWNA" not in tightened(BASE, changes, 0).by_code
    assert "OWNA" not in tightened(BASE, changes, 3).by_code
    assert set(in_force(changes)) == {"LUNG"}


def test_an_own_question_can_be_made_stricter_and_its_code_is_used_once() -> None:
    changes = [ASKED, raising(2, "OWNA", Level.ASHORE)]

    assert tightened(BASE, changes, 1).by_code["OWNA"].yes is Level.ASHORE
    assert next_code([]) == "OWNA" and next_code([*changes, Change(3, BACK, "OWNA")]) == "OWNB"
    assert next_code(Change(n, ADD, code) for n, code in enumerate(OWN_CODES)) is None
