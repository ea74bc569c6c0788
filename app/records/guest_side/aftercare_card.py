"""An aftercare card as it is read: its words in one language, times and numbers filled in."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session

from app.records.guest_side.languages import ENGLISH, Words, complete_languages, words_in
from app.records.setup.shop import Shop
from app.records.tables.aftercare import AftercareCardRow
from app.rules.aftercare_card import CARD, MEMENTO, filled
from app.rules.languages import ORIGINAL
from app.rules.translations import TextStatus, worst

# Left to right inside other words, and its end (Unicode bidirectional algorithm, UAX 9).
ISOLATE, POP, NO_BREAK = "\u2066", "\u2069", "\u00a0"


@dataclass(frozen=True)
class Line:
    """One line, filled in. original: the same in English. beside: whether the original stands beside it."""

    code: str
    words: str
    original: str
    beside: bool


def card_languages(session: Session) -> tuple[str, ...]:
    """Return the languages of cards: the original, and those that say all of its words."""
    return (ORIGINAL, *(code for code in complete_languages() if _says_card(words_in(session, code))))


def words_of_card(session: Session, codes: str) -> Words:
    """Return the words of the first language of "fr en" that cards know; the original for none."""
    able = card_languages(session)
    code = next((one for one in codes.split() if one in able), ORIGINAL)
    return ENGLISH if code == ORIGINAL else words_in(session, code)


def card_numbers(shop: Shop) -> dict[str, str]:
    """Return the numbers that a card needs, by what they are called in a sentence."""
    return {
        "the ambulance": shop.phone_ambulance,
        "the shop": shop.phone_shop,
        "the dive doctor or pressure chamber": shop.phone_dive_doctor,
    }


def card_status(words: Words) -> str:
    """Return how far the words of a card may be relied on in a language: the worst of its texts."""
    return str(worst(words.status(text, code) for code, text in CARD.items()))


def card_lines(row: AftercareCardRow, words: Words, height_m: float, zone: ZoneInfo) -> dict[str, Line]:
    """Return each line of a card by its code, in a language and in English, on the shop's clock."""
    spoken, english = (_values(row, one, height_m, zone) for one in (words, ENGLISH))
    return _lines(CARD, words, spoken, english)


def memento_lines(words: Words, values: Mapping[str, str], english: Mapping[str, str]) -> dict[str, Line]:
    """Return each line of the page that a guest takes home, by its code."""
    return _lines(MEMENTO, words, values, english)


def say_when(instant: datetime, words: Words, zone: ZoneInfo) -> str:
    """Say an instant as a language writes it, weekday and month named, on the shop's clock."""
    from babel.dates import format_skeleton, format_time

    local = instant.astimezone(zone)
    day = format_skeleton("MMMEd", local, locale=words.locale)
    # The shop's clocks run to 24 hours, whatever the country: no card is read as half a day wrong.
    return f"{day}, {format_time(local.time(), 'HH:mm', locale=words.locale)}"


def _apart(text: str, words: Words) -> str:
    """Return a number or a time that keeps its own order and is not broken at the end of a line.

    Between words that run from right to left "555 0199" would read as "0199 555".
    """
    kept = text.replace(" ", NO_BREAK)
    return f"{ISOLATE}{kept}{POP}" if words.direction == "rtl" else kept


def _values(row: AftercareCardRow, words: Words, height_m: float, zone: ZoneInfo) -> dict[str, str]:
    return {
        "until": say_when(row.keep_until, words, zone),
        "surfaced": say_when(row.surfaced_at, words, zone),
        "allowed": say_when(row.fly_allowed_from, words, zone),
        "advised": say_when(row.fly_advised_from, words, zone),
        "height": words.number(height_m),
        "ambulance": _apart(row.phone_ambulance, words),
        "shop": _apart(row.phone_shop, words),
        "doctor": _apart(row.phone_dive_doctor, words),
    }


def _lines(
    texts: Mapping[str, str], words: Words, values: Mapping[str, str], english: Mapping[str, str]
) -> dict[str, Line]:
    found = {}
    for code, text in texts.items():
        shown = words.show(code, text)
        original = filled(text, text, english)
        said = original if words.original else filled(shown.words, text, values)
        found[code] = Line(code, said, original, not shown.status.relied_on)
    return found


def _says_card(words: Words) -> bool:
    """Whether every text of the card stands in a language's catalogue, made of the words as they are now."""
    known = [words.entries.get((code, "")) for code in CARD]
    return not words.original and all(
        entry is not None and entry.status is not TextStatus.OUTDATED for entry in known
    )
