"""The words of the aftercare card: whole in every language, with times and numbers, drafts beside English."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from app.records.guest_side.aftercare_card import card_lines, card_status, memento_lines, say_when
from app.records.guest_side.languages import ENGLISH, shipped_languages, shipped_words
from app.records.tables.aftercare import AftercareCardRow
from app.rules.aftercare_card import CARD, MEMENTO, VERSION, filled

LISBON = ZoneInfo("Europe/Lisbon")
ROW = AftercareCardRow(
    guest_id=1,
    group_id=1,
    language="de",
    text_version=VERSION,
    surfaced_at=datetime(2026, 7, 15, 8, 19, tzinfo=UTC),
    fly_allowed_from=datetime(2026, 7, 16, 2, 19, tzinfo=UTC),
    fly_advised_from=datetime(2026, 7, 16, 8, 19, tzinfo=UTC),
    keep_until=datetime(2026, 7, 16, 8, 19, tzinfo=UTC),
    phone_ambulance="112",
    phone_shop="555 0100",
    phone_dive_doctor="555 0199",
    at=datetime(2026, 7, 15, 8, 30, tzinfo=UTC),
    by="a test",
)


@pytest.mark.parametrize("code", shipped_languages())
def test_every_language_says_every_line_with_its_times_and_numbers(code: str) -> None:
    words = shipped_words(code)
    lines = card_lines(ROW, words, 300, LISBON)
    assert set(lines) == set(CARD)
    for name, text in CARD.items():
        line = lines[name]
        assert line.words and line.beside is not words.original
        assert words.original or line.words != line.original, f"{code} {name} is not translated"
        for value, shown in (("ambulance", "112"), ("shop", "555\u00a00100"), ("doctor", "555\u00a00199")):
            assert (shown in line.words) is (f"%({value})s" in text), (code, name)
    apart = "\u2066555\u00a00199\u2069" in lines["card.today"].words
    assert apart is (words.direction == "rtl"), "a number keeps its order between words from right to left"
    assert "09:19" in lines["card.surfaced"].original, "on the shop's clock"
    said = memento_lines(words, {"place": "P", "name": "N", "guide": "G", "start": "200"}, {
        "place": "P", "name": "N", "guide": "G", "start": "200",
    })  # fmt: skip
    assert set(said) == set(MEMENTO) and "200" in said["memento.gas"].words


def test_the_worst_word_says_how_far_a_card_may_be_relied_on() -> None:
    assert card_status(ENGLISH) == "original" and card_status(shipped_words("de")) == "draft"


def test_dates_name_weekday_and_month_in_the_language_and_hours_run_to_24() -> None:
    instant = datetime(2026, 7, 15, 18, 5, tzinfo=UTC)
    assert say_when(instant, ENGLISH, LISBON) == "Wed 15 Jul, 19:05"
    assert say_when(instant, shipped_words("de"), LISBON).startswith("Mi., 15. Juli")
    assert "juil" in say_when(instant, shipped_words("fr"), LISBON)
    assert "19:05" in say_when(instant, shipped_words("nl"), LISBON)


def test_a_translation_that_lost_a_number_gives_way_to_the_original() -> None:
    values = {"doctor": "555 0199"}
    assert filled("Rufe an.", "Call %(doctor)s.", values) == "Call 555 0199."
    assert filled("Rufe %(doktor)s an.", "Call %(doctor)s.", values) == "Call 555 0199."
    assert filled("Rufe %(doctor)s an.", "Call %(doctor)s.", values) == "Rufe 555 0199 an."
