"""What must be asked, in which order, and when a guest is done."""

from app.records.question_sets import shipped_question_set
from app.rules.asking import Answer, affirmed, answer_to, asked, read_answers, unanswered
from app.rules.question_set import Part

QUESTIONS = shipped_question_set()
HISTORY = ["LUNG", "HART", "EARS", "HEAD", "SUGR", "MIND", "MEDS", "OPER", "BABY", "BODY", "SWIM", "ELSE"]
TODAY = ["COLD", "SICK", "DRNK", "TRIP", "WILL"]


def test_twelve_questions_of_history_and_five_of_today_come_in_order() -> None:
    assert asked(QUESTIONS, {}, 44, Part.HISTORY) == HISTORY
    assert asked(QUESTIONS, {}, 44, Part.TODAY) == TODAY
    assert asked(QUESTIONS, {}, 44) == HISTORY + TODAY


def test_from_45_the_heart_question_joins_the_history() -> None:
    assert asked(QUESTIONS, {}, 45, Part.HISTORY) == [*HISTORY, "RISK"]


def test_yes_not_sure_and_a_yes_taken_back_open_the_follow_ups_right_after_their_question() -> None:
    for answer in (Answer.YES, Answer.NOT_SURE, Answer.YES_THEN_NO):
        codes = asked(QUESTIONS, {"OPER": answer}, 30, Part.HISTORY)
        assert codes[codes.index("OPER") :][:5] == ["OPER", "OPER.a", "OPER.b", "OPER.c", "BABY"]


def test_no_missing_and_an_honest_slip_open_nothing() -> None:
    for answer in (Answer.NO, Answer.MISSING, Answer.UNREADABLE, Answer.YES_THEN_NO_OK):
        assert asked(QUESTIONS, {"OPER": answer}, 30, Part.HISTORY) == HISTORY


def test_what_is_not_usable_is_asked_again() -> None:
    assert [answer for answer in Answer if unanswered(answer)] == [Answer.MISSING, Answer.UNREADABLE]


def test_stored_words_are_read_without_raising() -> None:
    stored = {"LUNG": "Y", "HART": "Y>Nok", "EARS": "yes", "HEAD": None, "SUGR": ["Y"], "GONE": "N"}

    assert read_answers(stored) == {
        "LUNG": Answer.YES,
        "HART": Answer.YES_THEN_NO_OK,
        "EARS": Answer.UNREADABLE,
        "HEAD": Answer.UNREADABLE,
        "SUGR": Answer.UNREADABLE,
        "GONE": Answer.NO,
    }


def test_alcohol_is_never_a_slip() -> None:
    slip = {"DRNK": Answer.YES_THEN_NO_OK, "COLD": Answer.YES_THEN_NO_OK}

    assert affirmed(answer_to(QUESTIONS.by_code["DRNK"], slip))
    assert not affirmed(answer_to(QUESTIONS.by_code["COLD"], slip))
