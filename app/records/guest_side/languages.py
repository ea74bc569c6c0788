"""The words of a guest's language: the shipped catalogues, and what the shop's readers have checked.

The original is English and stands in the templates, the question sets and the rules. A catalogue is one file
for each language, read once; a text that it lacks is said in English, never left blank.
"""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from sqlmodel import Session, col, select

from app.records.tables.languages import TextCheckRow, WordsShownRow
from app.records.tables.parties import GuestRow
from app.rules.consents import GUARDIAN, GUARDIAN_TICKS, HEALTH_DATA, ConsentText
from app.rules.languages import NAMES, ORIGINAL
from app.rules.question_set import Question, hours_code
from app.rules.sentences import Sentence
from app.rules.translations import Text, TextStatus, worst

if TYPE_CHECKING:
    from babel.core import Locale
    from babel.messages.catalog import Catalog

FOLDER = Path(__file__).parents[1] / "catalogues"
RIGHT_TO_LEFT = frozenset({"ar", "fa", "he", "ur"})
QUESTIONS, CONSENTS, PAGES, BRIEFING, CARD = "questions", "consents", "pages", "briefing", "card"
# Area -> (its name, where its texts come from). What is said on several kinds of page belongs to the first.
AREAS: dict[str, tuple[str, tuple[str, ...]]] = {
    QUESTIONS: ("Health questions", ("app/records/question_sets/",)),
    CONSENTS: ("Consents", ("app/rules/consents.py",)),
    BRIEFING: ("Briefing and hand signals", ("app/rules/briefing_words.py", "app/rules/hand_signals.py")),
    PAGES: (
        "Guest pages",
        (
            "templates/guest_side/",
            "templates/_shared/",
            "app/web/guest_side/",
            "app/web/pages.py",
            "app/web/fields.py",
            "app/actions/",
        ),
    ),
    CARD: ("Aftercare card", ("templates/", "app/")),
}
# What somebody answers or signs is made of these.
OF_THE_FORM = (QUESTIONS, CONSENTS, PAGES)
_PluralIndex = Callable[[int], int]
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Entry:
    """One text in one language. words: one, or one for each plural form. places: where it is said."""

    text: Text
    words: tuple[str, ...]
    status: TextStatus
    places: tuple[str, ...] = ()
    # The newest thing that the shop's people did about it, and whether the words are theirs.
    row: TextCheckRow | None = None

    @property
    def ref(self) -> str:
        """A short mark of the original, for addresses: with a letter first, so that it is never a number."""
        return f"t{self.text.digest[:16]}"

    @property
    def mark(self) -> str:
        """A short mark of the original and of these very words: what somebody read on a page."""
        said = hashlib.sha256("\0".join(self.words).encode()).hexdigest()
        return f"{self.ref}-{said[:16]}"

    @property
    def area(self) -> str:
        """Where the text belongs, by the first of ``AREAS`` in which it is said."""
        return next(
            (
                area
                for area, (_, start) in AREAS.items()
                if any(place.startswith(start) for place in self.places)
            ),
            PAGES,
        )


@dataclass(frozen=True, slots=True)
class Shown:
    """A text with a code as a guest reads it, and the original that stands beside it."""

    code: str
    words: str
    original: str
    status: TextStatus

    @property
    def beside(self) -> bool:
        """Whether the original is shown as well."""
        return self.status is not TextStatus.ORIGINAL


@dataclass(frozen=True, slots=True)
class ShownConsent:
    """A consent as somebody reads it."""

    title: Shown
    lines: tuple[Shown, ...]
    tick: Shown


@dataclass(frozen=True)
class Words:
    """Everything that is said in one language."""

    code: str
    entries: Mapping[Key, Entry] = field(default_factory=dict)

    @property
    def original(self) -> bool:
        """Whether these are the words as first written."""
        return self.code == ORIGINAL

    @property
    def direction(self) -> str:
        """ "rtl" or "ltr", for the page's ``dir``."""
        return "rtl" if self.code in RIGHT_TO_LEFT else "ltr"

    @property
    def name(self) -> str:
        """The language's name in the language itself."""
        return own_name(self.code)

    @cached_property
    def locale(self) -> "Locale":
        """How numbers and dates are written."""
        from babel.core import Locale

        # The day comes before the month in the English of a shop that thinks in metres.
        return Locale("en", "GB") if self.original else Locale.parse(self.code)

    def gettext(self, text: str) -> str:
        """Return a text in this language."""
        return self.pgettext("", text)

    def pgettext(self, context: str, text: str) -> str:
        """Return the text of a code in this language; English where the catalogue knows another original."""
        entry = self._entry(context, (text,))
        return text if entry is None else entry.words[0]

    def ngettext(self, one: str, many: str, number: int) -> str:
        """Return the form of a text that belongs to a number."""
        entry = self._entry("", (one, many))
        if entry is None:
            return one if number == 1 else many
        return entry.words[plural_index(self.code)(number)]

    def say(self, text: str) -> str:
        """Return a sentence of the rules or of a form in this language, filled in."""
        if not isinstance(text, Sentence):
            return self.gettext(text)
        said = self.ngettext(text.text, text.plural, text.number) if text.plural else self.gettext(text.text)
        return said % text.values if text.values else said

    def status(self, text: str, context: str = "") -> TextStatus:
        """Return how far the words for a text may be relied on."""
        if self.original:
            return TextStatus.ORIGINAL
        entry = self.entries.get((context, "" if context else text))
        if entry is None:
            return TextStatus.DRAFT
        return entry.status if entry.text.original[0] == text else TextStatus.OUTDATED

    def show(self, code: str, text: str) -> Shown:
        """Return the text of a code with its original and status."""
        return Shown(code, self.pgettext(code, text), text, self.status(text, code))

    def consent(self, text: ConsentText) -> ShownConsent:
        """Return a consent, sentence by sentence."""
        title, *lines, tick = (self.show(code, sentence) for code, sentence in text.coded().items())
        return ShownConsent(title, tuple(lines), tick)

    @cached_property
    def relied_on(self) -> bool:
        """Whether every word that a guest answers or agrees to is the original or was checked."""
        return all(entry.status.relied_on for entry in self.entries.values() if entry.area in OF_THE_FORM)

    @cached_property
    def pages_status(self) -> TextStatus:
        """The worst of what stands on guest pages around questions and consents."""
        return worst(entry.status for entry in self.entries.values() if entry.area == PAGES)

    def consent_status(self, text: ConsentText) -> TextStatus:
        """Return the worst of the words that a consent is asked in."""
        # A guardian reads what happens to the answers as well, and agrees to it with a tick of its own.
        beside = GUARDIAN_TICKS | HEALTH_DATA.coded() if text.kind == GUARDIAN.kind else {}
        said = {**text.coded(), **beside}.items()
        return worst((self.pages_status, *(self.status(sentence, code) for code, sentence in said)))

    def questions_status(self, questions: Sequence[Question]) -> TextStatus:
        """Return the worst of the words that questions are asked in."""
        said = [(one.text, one.code) for one in questions]
        said += [(one.hours_text, hours_code(one)) for one in questions if one.hours_text]
        return worst((self.pages_status, *(self.status(text, code) for text, code in said)))

    def day(self, day: date) -> str:
        """Say a date with the month's name, as this language writes it."""
        from babel.dates import format_date

        return format_date(day, "full", locale=self.locale)

    def number(self, number: float) -> str:
        """Say a number as this language writes it."""
        from babel.numbers import format_decimal

        return format_decimal(number, locale=self.locale)

    def _entry(self, context: str, original: tuple[str, ...]) -> Entry | None:
        entry = self.entries.get((context, "" if context else original[0]))
        return entry if entry is not None and entry.text.original == original else None


ENGLISH = Words(ORIGINAL)


def words_in(session: Session, code: str) -> Words:
    """Return a language as guests of this shop read it; English for one that is not offered."""
    if code == ORIGINAL or code not in complete_languages():
        return ENGLISH
    shipped = shipped_words(code)
    entries = dict(shipped.entries)
    # The newest of a text comes last and stays.
    for row in session.exec(
        select(TextCheckRow).where(TextCheckRow.language == code).order_by(col(TextCheckRow.id))
    ):
        found = shipped.entries.get((row.context, "" if row.context else row.original))
        if found is not None:
            entries[found.text.key] = _as_read(found, row)
    return Words(code, entries)


def relied_on_languages(session: Session) -> tuple[str, ...]:
    """Return the languages in which a guest may agree by the words alone: English, and those all checked."""
    return tuple(code for code in complete_languages() if words_in(session, code).relied_on)


def words_shown(session: Session, digest: str) -> WordsShownRow | None:
    """Return the exact words of a form as they were kept under a digest."""
    return session.exec(select(WordsShownRow).where(WordsShownRow.digest == digest)).first()


def language_of_guest(session: Session, guest_id: int | None) -> str:
    """Return the first language of a guest's booking that is offered; English when there is none."""
    guest = session.get(GuestRow, guest_id or 0)
    said = [] if guest is None else guest.languages.replace(",", " ").split()
    return next((code for code in said if code in complete_languages()), ORIGINAL)


def shipped_languages() -> tuple[str, ...]:
    """Return the languages with a catalogue, English first, then by their letters."""
    return (ORIGINAL, *_catalogue_codes())


@cache
def shipped_words(code: str) -> Words:
    """Return a language as shipped, all of it draft; raises KeyError for one without a catalogue."""
    if code == ORIGINAL:
        return ENGLISH
    if code not in _catalogue_codes():
        raise KeyError(code)
    entries = {}
    for text, words, places in _messages(code):
        said = all(words)
        entries[text.key] = Entry(
            text, words if said else text.original, TextStatus.DRAFT if said else TextStatus.OUTDATED, places
        )
    return Words(code, entries)


@cache
def complete_languages() -> tuple[str, ...]:
    """Return the languages in which every text is said: only these are offered to guests."""
    return tuple(
        code
        for code in shipped_languages()
        if all(entry.status is TextStatus.DRAFT for entry in shipped_words(code).entries.values())
    )


@cache
def own_name(code: str) -> str:
    """Return a language's name as its speakers write it."""
    name = NAMES[code][-1]
    return name[:1].upper() + name[1:]


@cache
def plural_index(code: str) -> _PluralIndex:
    """Return which plural form of a language's catalogue belongs to a number."""
    from gettext import c2py

    from babel.messages.plurals import get_plural

    index: _PluralIndex = c2py(get_plural(code).plural_expr)
    return index


def _as_read(shipped: Entry, row: TextCheckRow) -> Entry:
    """Return a text as the shop's people left it: their words count while the original is what they read."""
    words = tuple(json.loads(row.words))
    if row.original_digest != shipped.text.digest or len(words) != len(shipped.words):
        return replace(shipped, status=TextStatus.OUTDATED, row=row)
    status = TextStatus.CHECKED if row.reader else TextStatus.DRAFT
    return replace(shipped, words=words, status=status, row=row)


def read_catalogue(path: Path) -> "Catalog":
    """Return a catalogue as its file has it."""
    from babel.messages.pofile import read_po

    with path.open("rb") as file:
        return read_po(file)


def _messages(code: str) -> list[tuple[Text, tuple[str, ...], tuple[str, ...]]]:
    """Return (text, words, places) of a catalogue; empty words where nothing sure stands there."""
    found = []
    for message in read_catalogue(FOLDER / f"{code}.po"):
        if not message.id:
            continue
        original = message.id if isinstance(message.id, tuple) else (message.id,)
        words = (message.string,) if isinstance(message.string, str) else tuple(message.string or ())
        sure = () if message.fuzzy else tuple(str(word or "") for word in words)
        text = Text(message.context or "", tuple(map(str, original)), "python-format" in message.flags)
        places = tuple(dict.fromkeys(str(place) for place, _ in message.locations))
        found.append((text, sure or ("",), places))
    return found


@cache
def _catalogue_codes() -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in FOLDER.glob("*.po")))
