"""Doctor's letters: dates at their edges, what is covered, and a no that stands."""

from datetime import date, timedelta

import pytest

from app.rules.doctors_letter import Letter, Verdict, with_letters
from app.rules.screening_reasons import Level, ScreeningReason

DAY = date(2026, 7, 15)
NEEDED = (ScreeningReason("LUNG.c", Level.LETTER),)


def fit(issued: date = date(2026, 7, 1), **more: object) -> Letter:
    given = {"has_scan": True, "covers": frozenset({"LUNG.c"})} | more
    return Letter(Verdict.FIT, issued, **given)  # type: ignore[arg-type]


def not_fit(issued: date) -> Letter:
    return Letter(Verdict.NOT_FIT, issued, has_scan=True)


def after(*letters: Letter, reasons: tuple[ScreeningReason, ...] = NEEDED, day: date = DAY) -> list[str]:
    return [str(reason) for reason in with_letters(reasons, letters, day)]


def test_a_valid_letter_turns_what_it_covers_into_a_talk() -> None:
    assert after(fit()) == ["LUNG.c/T"]


@pytest.mark.parametrize(
    ("letter", "expected"),
    [
        (fit(DAY), ["LUNG.c/T"]),
        (fit(DAY + timedelta(days=1)), ["LTR-DATE/L", "LUNG.c/L"]),
        (fit(DAY - timedelta(days=365)), ["LUNG.c/T"]),
        (fit(DAY - timedelta(days=366)), ["LTR-EXPIRED/L", "LUNG.c/L"]),
        (fit(expires=DAY), ["LUNG.c/T"]),
        (fit(expires=DAY - timedelta(days=1)), ["LTR-EXPIRED/L", "LUNG.c/L"]),
        (fit(DAY - timedelta(days=366), expires=DAY + timedelta(days=900)), ["LTR-EXPIRED/L", "LUNG.c/L"]),
        (fit(has_scan=False), ["LTR-NOSCAN/L", "LUNG.c/L"]),
        (fit(covers=frozenset({"HART.c"})), ["LUNG.c/L"]),
        (fit(has_limits=True), ["LTR-LIMITS/T", "LUNG.c/T"]),
    ],
)
def test_dates_scan_cover_and_limits(letter: Letter, expected: list[str]) -> None:
    assert after(letter) == expected


def test_the_last_days_of_the_calendar_do_not_overflow() -> None:
    assert after(fit(date.max), day=date.max) == ["LUNG.c/T"]
    assert after(fit(date.min), day=date.max) == ["LTR-EXPIRED/L", "LUNG.c/L"]


def test_a_faulty_letter_that_nobody_needs_says_nothing() -> None:
    assert after(fit(date(2020, 1, 1), has_scan=False), reasons=()) == []


def test_limits_count_even_when_no_letter_was_needed() -> None:
    assert after(fit(has_limits=True), reasons=()) == ["LTR-LIMITS/T"]


def test_staying_ashore_is_never_covered() -> None:
    refusal = (ScreeningReason("BABY.a", Level.ASHORE),)

    assert after(fit(covers=frozenset({"BABY.a"})), reasons=refusal) == ["BABY.a/A"]


def test_two_letters_may_share_the_cover_and_an_old_one_then_does_no_harm() -> None:
    needed = (*NEEDED, ScreeningReason("HART.c", Level.LETTER))
    heart = fit(covers=frozenset({"HART.c"}))
    old = fit(date(2020, 1, 1))

    assert after(fit(), heart, old, reasons=needed) == ["HART.c/T", "LUNG.c/T"]
    assert after(fit(), old, reasons=needed) == ["HART.c/L", "LTR-EXPIRED/L", "LUNG.c/T"]


def test_a_not_fit_stands_until_a_newer_fit_and_silences_an_older_one() -> None:
    refused = not_fit(date(2026, 7, 5))

    assert after(refused, reasons=()) == ["LTR-NOTFIT/A"]
    assert after(fit(date(2026, 7, 4)), refused) == ["LTR-NOTFIT/A", "LUNG.c/L"]
    assert after(fit(date(2026, 7, 5), reviewed=True), refused) == ["LTR-NOTFIT/A", "LUNG.c/L"]


def test_a_fit_within_a_year_of_a_not_fit_counts_once_two_people_reviewed_it() -> None:
    refused = not_fit(DAY - timedelta(days=20))

    assert after(refused, fit()) == ["LTR-NOTFIT/A", "LUNG.c/L"]
    assert after(refused, fit(reviewed=True)) == ["LUNG.c/T"]


def test_a_fit_more_than_a_year_after_a_not_fit_needs_no_review() -> None:
    assert after(not_fit(DAY - timedelta(days=366)), fit(DAY)) == ["LUNG.c/T"]
    assert "LTR-NOTFIT/A" in after(not_fit(DAY - timedelta(days=365)), fit(DAY))


@pytest.mark.parametrize("broken", [{"has_scan": False}, {"expires": DAY - timedelta(days=1)}])
def test_only_a_fit_that_holds_on_the_day_answers_a_not_fit(broken: dict[str, object]) -> None:
    newer = fit(date(2026, 7, 10), reviewed=True, **broken)

    assert "LTR-NOTFIT/A" in after(not_fit(date(2026, 7, 5)), newer)
