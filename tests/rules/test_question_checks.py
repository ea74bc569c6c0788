"""A question set that must not be used says why; a fixed refusal cannot be loosened in any way."""

from dataclasses import replace

import pytest

from app.records.question_sets import shipped_question_set
from app.rules.question_checks import FIXED_REFUSALS_HISTORY, FIXED_REFUSALS_TODAY, faults
from app.rules.question_set import AlsoReason, Condition, LevelWhen, Part, Question, QuestionSet
from app.rules.screening_reasons import Level

SHIPPED = shipped_question_set()
FIXED = (*FIXED_REFUSALS_HISTORY, *FIXED_REFUSALS_TODAY)
MILDER = [level for level in Level if level is not Level.ASHORE]


def changed(code: str, **fields: object) -> QuestionSet:
    """The shipped set with one question changed."""
    questions = (
        replace(question, **fields) if question.code == code else question  # type: ignore[arg-type]
        for question in SHIPPED.questions
    )
    return replace(SHIPPED, questions=tuple(questions))


def without(*codes: str) -> QuestionSet:
    return replace(
        SHIPPED, questions=tuple(question for question in SHIPPED.questions if question.code not in codes)
    )


def with_also(question: Question) -> QuestionSet:
    return replace(SHIPPED, questions=(*SHIPPED.questions, question))


def test_the_shipped_set_has_no_fault() -> None:
    assert faults(SHIPPED) == []


def test_every_question_that_refuses_is_a_fixed_refusal() -> None:
    refusing = {question.code for question in SHIPPED.questions if question.yes is Level.ASHORE}

    assert refusing == {*FIXED, "SWIM.a"}


@pytest.mark.parametrize("code", [*FIXED, "SWIM.a"])
def test_a_fixed_refusal_cannot_be_left_out(code: str) -> None:
    assert f"{code}: a fixed refusal is missing" in faults(without(code))


@pytest.mark.parametrize("level", MILDER)
@pytest.mark.parametrize("code", [*FIXED, "SWIM.a"])
def test_a_fixed_refusal_cannot_be_made_milder(code: str, level: Level) -> None:
    assert f"{code}: a fixed refusal must stay at level A" in faults(changed(code, yes=level, when=()))


@pytest.mark.parametrize("condition", [Condition(from_age=60), Condition(where="confined"), Condition()])
@pytest.mark.parametrize("code", FIXED)
def test_a_fixed_refusal_cannot_be_made_milder_for_some(code: str, condition: Condition) -> None:
    loosened = changed(code, when=(LevelWhen(condition, Level.LETTER),))

    assert f"{code}: a fixed refusal must stay at level A" in faults(loosened)


@pytest.mark.parametrize("code", FIXED)
def test_a_fixed_refusal_cannot_be_kept_for_an_age(code: str) -> None:
    asked_of = code.partition(".")[0]

    assert f"{code}: a fixed refusal must be asked at every age" in faults(
        changed(asked_of, asked_from_age=18)
    )


@pytest.mark.parametrize("code", FIXED_REFUSALS_TODAY)
def test_a_refusal_of_the_day_cannot_be_moved_to_the_history(code: str) -> None:
    family = code.partition(".")[0]
    moved = tuple(
        replace(question, part=Part.HISTORY) if question.code.startswith(family) else question
        for question in SHIPPED.questions
    )

    assert f"{code}: a fixed refusal of the day must be asked in the today part" in faults(
        replace(SHIPPED, questions=moved)
    )


def test_who_cannot_swim_is_at_least_talked_to_in_confined_water() -> None:
    loosened = changed("SWIM.a", when=(LevelWhen(Condition(where="confined"), Level.NONE),))

    assert faults(loosened) == ["SWIM.a: must be at least level T in confined water"]


@pytest.mark.parametrize(
    "also",
    [
        (),
        (AlsoReason("SUGR-MINOR", Condition(under_age=17), Level.ASHORE),),
        (AlsoReason("SUGR-MINOR", Condition(under_age=18, where="open"), Level.ASHORE),),
        (AlsoReason("SUGR-MINOR", Condition(under_age=18), Level.LETTER),),
        (AlsoReason("SUGR-OTHER", Condition(under_age=18), Level.ASHORE),),
    ],
)
def test_diabetes_under_18_stays_a_refusal(also: tuple[AlsoReason, ...]) -> None:
    assert faults(changed("SUGR", also=also)) == [
        "SUGR: SUGR-MINOR must refuse every guest under 18 at level A"
    ]


def test_alcohol_cannot_become_a_slip() -> None:
    assert faults(changed("DRNK", slip_stands=False)) == ["DRNK: a Yes must stand, nobody may call it a slip"]


PLAIN = Question("WARM", Part.TODAY, "Are you warm?", "Cold.", "common practice", yes=Level.TALK)


@pytest.mark.parametrize(
    ("questions", "fault"),
    [
        (with_also(SHIPPED.questions[0]), "LUNG: the code is used 2 times"),
        (without("LUNG"), "LUNG.a: its parent LUNG is not in the set"),
        (with_also(replace(PLAIN, code="warm")), "warm: the code must be four capitals"),
        (with_also(replace(PLAIN, code="LANG")), "LANG: the code is taken by a reason that the program"),
        (with_also(replace(PLAIN, text=" ")), "WARM: text is missing"),
        (with_also(replace(PLAIN, hazard="")), "WARM: hazard is missing"),
        (with_also(replace(PLAIN, source="")), "WARM: source is missing"),
        (with_also(replace(PLAIN, text="Be warm.")), "WARM: the text must end with a question mark"),
        (with_also(replace(PLAIN, yes=None)), "WARM: exactly one of yes and rest must be given"),
        (with_also(replace(PLAIN, rest=Level.TALK)), "WARM: exactly one of yes and rest must be given"),
        (with_also(replace(PLAIN, yes=None, rest=Level.TALK)), "WARM: rest needs follow-ups"),
        (with_also(replace(PLAIN, yes=Level.NONE)), "WARM: a Yes must have a level"),
        (with_also(replace(PLAIN, code="WARM.a")), "WARM.a: a code with a dot needs a parent"),
        (
            with_also(replace(PLAIN, code="COLD.b", parent="COLD.a")),
            "COLD.b: its parent COLD.a is a follow-up itself",
        ),
        (
            with_also(replace(PLAIN, code="LUNG.f", parent="LUNG")),
            "LUNG.f: its parent LUNG is in another part",
        ),
        (with_also(replace(PLAIN, parent="COLD")), "WARM: the code of a follow-up must begin with COLD."),
        (changed("COLD.a", yes=None, rest=Level.TALK), "COLD.a: a follow-up takes yes, not rest"),
        (
            changed("COLD", yes=Level.TALK, rest=None),
            "COLD: a top question with follow-ups takes rest, not yes",
        ),
        (changed("COLD.a", asked_from_age=8), "COLD.a: only a top question is kept for an age"),
        (
            changed("COLD.a", also=(AlsoReason("COLD-X", Condition(), Level.TALK),)),
            "COLD.a: only a top question gives further reasons",
        ),
        (
            changed("COLD", also=(AlsoReason("FLIP", Condition(), Level.TALK),)),
            "COLD: the further reason FLIP is the code of something else",
        ),
        (
            changed("TRIP.a", hours_text=None),
            "exactly one question must ask for the hours until flying, not 0",
        ),
        (
            changed("TRIP.b", hours_text="How many hours?"),
            "exactly one question must ask for the hours until flying, not 2",
        ),
        (
            changed("TRIP", asked_from_age=18),
            "TRIP.a: the hours until flying must be asked today, at every age",
        ),
        (replace(SHIPPED, review=""), "review is missing"),
        (replace(SHIPPED, questions=()), "there is no question"),
    ],
)
def test_faults_are_named(questions: QuestionSet, fault: str) -> None:
    assert [found for found in faults(questions) if found.startswith(fault)]


def test_every_fault_is_told_at_once() -> None:
    questions = replace(changed("DRNK", text="Drunk", slip_stands=False), version="")

    assert len(faults(questions)) == 3


def test_a_doctor_may_change_words_and_other_levels() -> None:
    assert faults(changed("LUNG.c", yes=Level.TALK, text="Did you wheeze this year?")) == []
    assert faults(with_also(PLAIN)) == []
