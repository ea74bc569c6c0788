"""What holds for every guest, not only for the ones somebody thought of."""

from dataclasses import replace
from datetime import date, timedelta
from random import Random
from typing import get_args

from hypothesis import given
from hypothesis import strategies as st

from app.records.question_sets import shipped_question_set
from app.rules.asking import Answer, asked
from app.rules.doctors_letter import Letter, Verdict
from app.rules.people import Where
from app.rules.screening import Outcome, ScreeningCase, screen
from app.rules.screening_reasons import Level

QUESTIONS = shipped_question_set()
CODES = list(QUESTIONS.by_code)
DAY = date(2026, 7, 15)
MILDEST_FIRST = list(Outcome)

some_answers = st.dictionaries(st.sampled_from(CODES), st.sampled_from(Answer), max_size=8)
days = st.integers(-500, 500).map(lambda number: DAY + timedelta(days=number))
letters = st.builds(
    Letter,
    verdict=st.sampled_from(Verdict),
    issued=days,
    has_scan=st.booleans(),
    expires=st.none() | days,
    covers=st.frozensets(st.sampled_from(CODES)) | st.just(frozenset(CODES)),
    has_limits=st.booleans(),
    reviewed=st.booleans(),
)
ages = st.integers(0, 90)
cases = st.builds(
    ScreeningCase,
    dive_date=st.just(DAY),
    age=ages,
    where=st.sampled_from(get_args(Where)),
    answers=some_answers.map(lambda some: dict.fromkeys(CODES, Answer.NO) | some),
    history_signed_days=st.none() | st.integers(-2, 40),
    today_signed=st.booleans(),
    language_checked=st.booleans(),
    guardian_consent=st.none() | st.booleans(),
    fly_hours=st.none() | st.floats(0, 60),
)
cases_with_letters = st.builds(
    lambda case, some: replace(case, letters=tuple(some)), cases, st.lists(letters, max_size=3)
)


def severity(case: ScreeningCase) -> int:
    return MILDEST_FIRST.index(screen(case, QUESTIONS).outcome)


def with_answer(case: ScreeningCase, code: str, answer: Answer) -> ScreeningCase:
    return replace(case, answers={**case.answers, code: answer})


@given(cases, st.sampled_from(CODES))
def test_a_yes_instead_of_a_no_never_makes_the_outcome_milder(case: ScreeningCase, code: str) -> None:
    before = with_answer(case, code, Answer.NO)

    assert severity(with_answer(case, code, Answer.YES)) >= severity(before)


@given(cases_with_letters, st.sampled_from(CODES))
def test_the_same_holds_with_letters_from_the_age_at_which_no_rest_needs_one(
    case: ScreeningCase, code: str
) -> None:
    # Under 16 a top question at rest needs a letter itself; a covered follow-up may then settle it.
    case = replace(case, age=max(case.age, 16))

    assert severity(with_answer(case, code, Answer.YES)) >= severity(with_answer(case, code, Answer.NO))


@given(cases, st.sampled_from(CODES))
def test_not_sure_is_never_milder_than_no(case: ScreeningCase, code: str) -> None:
    assert severity(with_answer(case, code, Answer.NOT_SURE)) >= severity(with_answer(case, code, Answer.NO))


@given(cases, st.lists(letters, max_size=3))
def test_a_letter_never_lifts_staying_ashore(case: ScreeningCase, some: list[Letter]) -> None:
    without = {reason for reason in screen(case, QUESTIONS).reasons if reason.level is Level.ASHORE}
    result = screen(replace(case, letters=tuple(some)), QUESTIONS)

    assert without <= set(result.reasons)
    assert not without or result.outcome is Outcome.ASHORE


@given(cases, st.lists(letters, max_size=3))
def test_a_letter_never_makes_a_reason_vanish(case: ScreeningCase, some: list[Letter]) -> None:
    before = screen(case, QUESTIONS).reasons
    after = {
        reason.code: reason.level for reason in screen(replace(case, letters=tuple(some)), QUESTIONS).reasons
    }

    for reason in before:
        lifted = reason.level is Level.LETTER and after[reason.code] is Level.TALK
        assert lifted or after[reason.code] is reason.level


@given(cases, st.data())
def test_an_unanswered_question_is_never_a_no(case: ScreeningCase, data: st.DataObject) -> None:
    code = data.draw(st.sampled_from(asked(QUESTIONS, case.answers, case.age)))
    absent = {other: answer for other, answer in case.answers.items() if other != code}
    found = screen(replace(case, answers=absent), QUESTIONS)

    assert found.outcome is not Outcome.CLEARED
    assert (code, Level.INCOMPLETE) in {(reason.code, reason.level) for reason in found.reasons}


@given(cases_with_letters, st.randoms(use_true_random=False))
def test_the_order_of_answers_and_letters_does_not_matter(case: ScreeningCase, chance: Random) -> None:
    answers, some = list(case.answers.items()), list(case.letters)
    chance.shuffle(answers)
    chance.shuffle(some)

    shuffled = replace(case, answers=dict(answers), letters=tuple(some))

    assert screen(shuffled, QUESTIONS) == screen(case, QUESTIONS)


@given(cases_with_letters)
def test_the_outcome_is_cleared_exactly_when_nothing_speaks_against_it(case: ScreeningCase) -> None:
    result = screen(case, QUESTIONS)

    assert (result.outcome is Outcome.CLEARED) == (not result.reasons)


@given(st.dictionaries(st.text(max_size=6) | st.sampled_from(CODES), st.sampled_from(Answer)), cases)
def test_a_stored_code_that_nobody_knows_leaves_the_form_unfinished(
    stored: dict[str, Answer], case: ScreeningCase
) -> None:
    unknown = set(stored) - set(CODES)
    result = screen(replace(case, answers=stored), QUESTIONS)

    assert unknown <= {reason.code for reason in result.reasons if reason.level is Level.INCOMPLETE}
