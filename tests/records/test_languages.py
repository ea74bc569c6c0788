"""The shipped catalogues are whole and keep numbers, values and every not; and what a shop makes of them."""

import json
import re
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from sqlmodel import Session, SQLModel, create_engine

from app.records.guest_side import languages as found
from app.records.guest_side.languages import (
    AREAS,
    ENGLISH,
    complete_languages,
    plural_index,
    read_catalogue,
    relied_on_languages,
    shipped_words,
    words_in,
)
from app.records.tables.languages import TextCheckRow
from app.rules.sentences import Sentence
from app.rules.translations import TextStatus, faults

FOREIGN = [code for code in complete_languages() if code != "en"]
NOT_IN = {
    "ar": r"\b(?:لا|لم|لن|ليس|غير|دون|ألا|يستحيل|انقطع|بلا|ولا|ولم|أبدًا|تغص|لأ)\b|ليس|ألا|لا ",
    "de": r"\b(?:nicht|nie|niemand|kein\w*|nichts|un\w+|ohne)\b",
    "es": r"\b(?:no|nunca|nadie|ning\w+|nada|sin|imposible|ni)\b",
    "fr": r"\b(?:ne|n’\w+|pas|jamais|personne|aucun\w*|impossible|sans|rien)\b|n’",
    "it": r"\b(?:non|mai|nessun\w*|impossibile|niente|nulla|senza)\b",
    "nl": r"\b(?:niet|nooit|niemand|geen|onmogelijk|zonder|niets)\b",
}  # fmt: skip
DENIES = re.compile(r"\b(?:not|NOT|never|no one|nobody|unable|cannot|can't|Never|no)\b")


def test_every_language_of_the_folder_is_whole() -> None:
    assert complete_languages() == ("en", "ar", "de", "es", "fr", "it", "nl")


@pytest.mark.parametrize("code", FOREIGN)
def test_numbers_and_named_values_are_those_of_the_original(code: str) -> None:
    entries = shipped_words(code).entries.values()
    assert len(entries) > 200
    assert {entry.text.original: faults(entry.text, entry.words) for entry in entries} == {
        entry.text.original: [] for entry in entries
    }


@pytest.mark.parametrize("code", FOREIGN)
def test_what_the_original_denies_is_denied(code: str) -> None:
    denied = [
        entry
        for entry in shipped_words(code).entries.values()
        if entry.text.context and DENIES.search(entry.text.original[0])
    ]
    assert len(denied) > 15
    assert [entry.text.context for entry in denied if not re.search(NOT_IN[code], entry.words[0], re.I)] == []


@pytest.mark.parametrize("code", FOREIGN)
def test_questions_are_questions_and_yes_and_no_are_two_words(code: str) -> None:
    words = shipped_words(code)
    for entry in words.entries.values():
        if entry.text.original[0].endswith("?"):
            assert entry.words[0].rstrip().endswith(("?", "؟")), entry.words
    assert len({words.gettext("Yes"), words.gettext("No"), words.gettext("I am not sure"), "Yes", "No"}) >= 4


@pytest.mark.parametrize("code", FOREIGN)
def test_plural_forms_are_all_there(code: str) -> None:
    words = shipped_words(code)
    one, many = "There is one thing to put right", "There are %(num)d things to put right"
    forms = {words.ngettext(one, many, number) for number in (0, 1, 2, 3, 11, 100, 102)}
    assert len(forms) == (6 if code == "ar" else 2)
    assert "3" in words.say(Sentence.counted(one, many, 3))
    assert plural_index("ar")(2) == 2


def test_english_is_the_original_and_needs_nothing() -> None:
    assert ENGLISH.gettext("Anything") == "Anything" and ENGLISH.status("Anything") is TextStatus.ORIGINAL
    assert ENGLISH.day(date(2026, 7, 15)) == "Wednesday, 15 July 2026" and ENGLISH.relied_on
    assert not ENGLISH.show("LUNG", "A question?").beside


def test_dates_and_numbers_are_written_as_the_language_writes_them() -> None:
    assert shipped_words("de").day(date(2026, 7, 15)) == "Mittwoch, 15. Juli 2026"
    assert (shipped_words("de").number(1.5), shipped_words("fr").number(1.5)) == ("1,5", "1,5")
    assert shipped_words("ar").direction == "rtl" and "2026" in shipped_words("ar").day(date(2026, 7, 15))


def test_a_text_that_nobody_translated_is_said_in_english() -> None:
    german = shipped_words("de")
    assert german.gettext("Never heard of") == "Never heard of"
    assert german.status("Never heard of") is TextStatus.DRAFT
    shown = german.show("LUNG", "Another question than the one translated?")
    assert shown.words == shown.original and shown.status is TextStatus.OUTDATED


def test_a_fuzzy_or_empty_text_leaves_the_language_out_and_is_said_in_english(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "pl.po").write_text(
        'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n\n'
        '#, fuzzy\nmsgid "Yes"\nmsgstr "Tak?"\n\nmsgid "No"\nmsgstr ""\n\nmsgid "Back"\nmsgstr "Wstecz"\n',
        encoding="utf-8",
    )
    monkeypatch.setattr(found, "FOLDER", tmp_path)
    caches = (found._catalogue_codes, found.shipped_words, found.complete_languages)
    for one in caches:
        one.cache_clear()
    try:
        words = shipped_words("pl")
        assert complete_languages() == ("en",)
        assert [words.gettext(text) for text in ("Yes", "No", "Back")] == ["Yes", "No", "Wstecz"]
        assert words.status("Yes") is TextStatus.OUTDATED
    finally:
        monkeypatch.undo()
        for one in caches:
            one.cache_clear()


@pytest.fixture
def session() -> Session:
    engine = create_engine("sqlite://")
    SQLModel.metadata.create_all(engine, tables=[SQLModel.metadata.tables["text_check"]])
    return Session(engine)


def check(session: Session, digest: str = "", words: str = "", reader: str = "Dita Diver") -> None:
    entry = shipped_words("de").entries[("LUNG", "")]
    session.add(
        TextCheckRow(
            language="de", context="LUNG", original=entry.text.original[0],
            original_digest=digest or entry.text.digest, words=json.dumps([words or entry.words[0]]),
            translator="Tomas Reader", reader=reader, checked_on=date(2026, 7, 14), by="Mona Manager",
            at=datetime(2026, 7, 14, tzinfo=UTC),
        )
    )  # fmt: skip
    session.flush()


def test_the_newest_check_counts_while_the_original_is_the_one_that_was_read(session: Session) -> None:
    question = shipped_words("de").entries[("LUNG", "")].text.original[0]
    with session:
        assert words_in(session, "de").status(question, "LUNG") is TextStatus.DRAFT
        check(session)
        assert words_in(session, "de").status(question, "LUNG") is TextStatus.CHECKED
        check(session, words="Bessere Worte?", reader="")
        german = words_in(session, "de")
        assert german.pgettext("LUNG", question) == "Bessere Worte?"
        assert german.status(question, "LUNG") is TextStatus.DRAFT
        check(session, digest="of another original", words="Alte Worte?")
        german = words_in(session, "de")
        assert german.status(question, "LUNG") is TextStatus.OUTDATED
        assert german.pgettext("LUNG", question) == shipped_words("de").pgettext("LUNG", question)
        assert relied_on_languages(session) == ("en",)
        assert words_in(session, "xx") is ENGLISH


def test_every_text_belongs_to_an_area_and_every_area_has_texts() -> None:
    assert {entry.area for entry in shipped_words("de").entries.values()} == set(AREAS)


def test_every_catalogue_says_how_guests_are_addressed() -> None:
    for code in FOREIGN:
        comment = read_catalogue(found.FOLDER / f"{code}.po").header_comment
        assert "Say here" not in comment and len(comment) > 40, code
