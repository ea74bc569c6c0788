"""What must be equal in a translation, and what unchecked words are worth."""

import pytest

from app.rules.translations import (
    Text,
    TextStatus,
    consent_stands,
    faults,
    numbers_in,
    placeholders_in,
    worst,
    wrong_readers,
)


def test_the_worst_status_counts_and_an_unknown_one_is_a_draft() -> None:
    assert worst(()) is TextStatus.ORIGINAL
    assert worst(("original", "checked")) is TextStatus.CHECKED
    assert worst(("checked", "outdated", "draft")) is TextStatus.OUTDATED
    assert worst(("scribbled",)) is TextStatus.DRAFT
    assert [one.relied_on for one in TextStatus] == [True, True, False, False]


def test_numbers_are_alike_in_every_script() -> None:
    assert numbers_in("25 m, 5 minutes") == numbers_in("٢٥ m و ٥ دقائق") == {"25": 1, "5": 1}
    assert numbers_in("1.5 bar") == numbers_in("1,5 bar")
    assert numbers_in("%(minutes)s min") == {}
    assert placeholders_in("%(name)s, %(number)d") == {"%(name)s": 1, "%(number)d": 1}


@pytest.mark.parametrize(
    ("original", "words", "sentence"),
    [
        ("In the last 48 hours?", "In den letzten 48 Stunden?", ""),
        ("In the last 48 hours?", "In den letzten 24 Stunden?", "Keep the numbers"),
        ("In the last 48 hours?", "In den letzten Stunden?", "Keep the numbers"),
        ("Hello %(name)s", "Hallo %(name)s", ""),
        ("Hello %(name)s", "Hallo", "Keep the named values"),
        ("Hello %(name)s", "Hallo %(name)d", "Keep the named values"),
        ("Hello %(name)s", "Hallo %(name)s %", "percent sign twice"),
        ("Hello", " ", "must not be empty"),
        ("Hello", "x" * 1001, "Shorten"),
        ("Hello", "Hal\u202elo", "hidden"),
        ("Hello", "Hal\u200flo", ""),
    ],
)
def test_a_translation_keeps_what_can_be_measured(original: str, words: str, sentence: str) -> None:
    found = faults(Text("", (original,), formatted="%(" in original), [words])
    assert (not found) if not sentence else sentence in found[0]


def test_a_plural_form_may_leave_its_number_out() -> None:
    text = Text("", ("One thing", "%(num)d things of %(name)s"), formatted=True)
    assert faults(text, ["Ein Ding von %(name)s", "%(num)d Dinge von %(name)s"]) == []
    assert faults(text, ["Ein Ding", "%(num)d Dinge von %(name)s"]) != []


def test_another_original_has_another_fingerprint() -> None:
    assert Text("LUNG", ("a",)).digest != Text("LUNG", ("b",)).digest != Text("HART", ("b",)).digest
    assert Text("LUNG", ("a",)).key == Text("LUNG", ("b",)).key
    assert Text("", ("a",)).key != Text("", ("b",)).key


@pytest.mark.parametrize(
    ("status", "understood", "interpreter", "stands"),
    [
        ("original", "", "", True),
        ("checked", "", "", True),
        ("draft", "", "", False),
        ("outdated", "", "", False),
        ("?", "", "", False),
        ("draft", "en", "", True),
        ("outdated", "", "sealed name", True),
    ],
)
def test_a_consent_in_unchecked_words_needs_more(
    status: str, understood: str, interpreter: str, stands: bool
) -> None:
    assert consent_stands(status, understood, interpreter) is stands


def test_two_different_people_check() -> None:
    assert wrong_readers("Tomas Reader", "Dita Diver") is None
    assert wrong_readers("Tomas Reader", "tomas  reader") is not None
