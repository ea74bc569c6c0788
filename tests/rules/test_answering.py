"""A sheet of answers while it is filled in: nothing that was said as Yes is wiped out by a later No."""

import pytest

from app.records.question_sets import shipped_question_set
from app.rules.answering import Sheet, answered, next_sheet, slip_recorded
from app.rules.asking import Answer
from app.rules.question_set import Part

Y, N, NOT_SURE = Answer.YES, Answer.NO, Answer.NOT_SURE
QUESTIONS = shipped_question_set()
NOTHING_KEPT = {Part.HISTORY: False, Part.TODAY: False}


def say(sheet: Sheet, code: str, *words: Answer) -> Answer:
    """Return what stands after these answers to one question."""
    for word in words:
        sheet = answered(sheet, code, word)
    return Answer(sheet.answers[code])


@pytest.mark.parametrize(
    ("words", "stands"),
    [
        ((N,), N),
        ((Y,), Y),
        ((NOT_SURE,), NOT_SURE),
        ((Y, N), Answer.YES_THEN_NO),
        ((Y, NOT_SURE, N), Answer.YES_THEN_NO),
        ((Y, N, NOT_SURE, N), Answer.YES_THEN_NO),
        ((Y, N, Y), Y),
        ((NOT_SURE, N), N),
        ((N, NOT_SURE, N), N),
    ],
)
def test_a_yes_is_remembered_through_every_change(words: tuple[Answer, ...], stands: Answer) -> None:
    assert say(Sheet(), "LUNG", *words) is stands


def test_a_guest_says_only_yes_no_or_not_sure() -> None:
    for word in (Answer.MISSING, Answer.YES_THEN_NO, Answer.YES_THEN_NO_OK, Answer.UNREADABLE):
        with pytest.raises(ValueError, match="Yes, No or Not sure"):
            answered(Sheet(), "LUNG", word)


def test_hours_that_were_named_do_not_vanish_with_a_no() -> None:
    sheet = answered(Sheet(), "TRIP.a", Y, 15.0)
    assert answered(sheet, "TRIP.a", N).fly_hours == 15
    assert answered(sheet, "TRIP.a", Y, 20.0).fly_hours == 20
    assert answered(sheet, "LUNG", N).fly_hours == 15


def test_an_honest_slip_needs_a_change_and_stays_a_slip() -> None:
    changed = answered(answered(Sheet(), "LUNG", Y), "LUNG", N)
    slip = slip_recorded(changed, "LUNG")
    assert slip.answers["LUNG"] is Answer.YES_THEN_NO_OK
    assert say(slip, "LUNG", N) is Answer.YES_THEN_NO_OK
    assert say(slip, "LUNG", Y, N) is Answer.YES_THEN_NO
    for answer in (Y, N, NOT_SURE):
        with pytest.raises(ValueError, match="not changed"):
            slip_recorded(answered(Sheet(), "LUNG", answer), "LUNG")


def test_a_new_form_starts_empty_and_remembers_what_was_signed() -> None:
    signed = Sheet({"LUNG": Y, "HART": NOT_SURE, "EARS": N, "DRNK": Y}, {}, 12.0)
    next_day = next_sheet(signed, QUESTIONS, NOTHING_KEPT, same_day=False)
    assert next_day.answers == {} and next_day.fly_hours is None
    assert say(next_day, "LUNG", N) is Answer.YES_THEN_NO
    assert say(next_day, "HART", N) is Answer.YES_THEN_NO
    assert say(next_day, "EARS", N) is N
    assert say(next_day, "DRNK", N) is N
    same_day = next_sheet(signed, QUESTIONS, NOTHING_KEPT, same_day=True)
    assert say(same_day, "DRNK", N) is Answer.YES_THEN_NO and same_day.fly_hours == 12
    assert answered(same_day, "TRIP.a", Y, 30.0).fly_hours == 12
    assert answered(same_day, "TRIP.a", Y, 6.0).fly_hours == 6


def test_a_history_that_still_counts_is_carried_over_whole() -> None:
    signed = Sheet({"LUNG": Answer.YES_THEN_NO_OK, "EARS": N, "DRNK": N}, {"LUNG": Answer.YES_THEN_NO_OK})
    kept = next_sheet(signed, QUESTIONS, {Part.HISTORY: True, Part.TODAY: False}, same_day=False)
    assert kept.answers == {"LUNG": Answer.YES_THEN_NO_OK, "EARS": N}
    assert kept.before == {"LUNG": Answer.YES_THEN_NO_OK}


def test_what_was_remembered_but_not_answered_again_stays_remembered() -> None:
    draft = Sheet({}, {"DRNK": Y})
    again = next_sheet(draft, QUESTIONS, {Part.HISTORY: False, Part.TODAY: True}, same_day=True)
    assert say(again, "DRNK", N) is Answer.YES_THEN_NO


def test_a_first_form_starts_with_nothing() -> None:
    assert next_sheet(None, QUESTIONS, NOTHING_KEPT, same_day=True) == Sheet()
