"""Writes the catalogues of guests' languages anew from what the program says.

    python tests/house/messages.py             the template guest.pot, and every .po brought up to it
    python tests/house/messages.py --new pl    a catalogue for one more language, all of it to be translated

A text whose original changed keeps its old words marked as fuzzy: they are not shown until somebody has put
them right and taken the mark away.
"""

import argparse
import io
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import read_po, write_po

from app.records.question_sets import CURRENT, shipped_question_set
from app.rules import consents
from app.rules.aftercare_card import CARD, MEMENTO
from app.rules.briefing_words import SENTENCES, briefing_code
from app.rules.hand_signals import SIGNALS, signal_code
from app.rules.languages import NAMES
from app.rules.question_set import hours_code

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "app/records/catalogues"
TEMPLATE = FOLDER / "guest.pot"
# A date of today would make every run another file.
MADE = datetime(2026, 11, 25, tzinfo=UTC)
KEYWORDS = {
    "_": None,
    "gettext": None,
    "ngettext": (1, 2),
    "pgettext": ((1, "c"), 2),
    "Sentence": None,
    "counted": (1, 2),
}
# (code, text, where it comes from)
Coded = tuple[str, str, str]


def coded_texts() -> Iterator[Coded]:
    """Return every text that has a code."""
    place = f"app/records/question_sets/{CURRENT}.toml"
    for question in shipped_question_set().questions:
        yield question.code, question.text, place
        if question.hours_text:
            yield hours_code(question), question.hours_text, place
    place = "app/rules/consents.py"
    for text in (consents.HEALTH_DATA, consents.DIVE, consents.GUARDIAN):
        for code, sentence in text.coded().items():
            yield code, sentence, place
    for code, sentence in consents.GUARDIAN_TICKS.items():
        yield code, sentence, place
    for key, sentence in SENTENCES.items():
        yield briefing_code(key), sentence, "app/rules/briefing_words.py"
    for key, sentence in SIGNALS.items():
        yield signal_code(key), sentence, "app/rules/hand_signals.py"
    for code, sentence in {**CARD, **MEMENTO}.items():
        yield code, sentence, "app/rules/aftercare_card.py"


def template() -> Catalog:
    """Return every text that a guest may read."""
    found = _empty()
    for code, text, place in coded_texts():
        found.add(text, locations=[(place, 0)], context=code)
    for path in sorted((ROOT / "templates").rglob("*.html")):
        _take(found, path, "jinja2.ext:babel_extract", {"newstyle_gettext": "true", "trimmed": "true"})
    for path in sorted((ROOT / "app").rglob("*.py")):
        _take(found, path, "python", {})
    return found


def updated(path: Path, texts: Catalog) -> Catalog:
    """Return a language's catalogue brought up to the texts."""
    catalogue = read(path)
    catalogue.update(texts, update_header_comment=False, update_creation_date=False)
    catalogue.creation_date = MADE
    return catalogue


def read(path: Path, language: str | None = None) -> Catalog:
    """Return a catalogue from its file."""
    with path.open("rb") as file:
        return read_po(file, locale=language or (path.stem if path.suffix == ".po" else None))


def text_of(catalogue: Catalog) -> str:
    """Return the text of a catalogue's file."""
    out = io.BytesIO()
    write_po(out, catalogue, width=100, include_lineno=False, ignore_obsolete=True, include_previous=True)
    return out.getvalue().decode()


def files() -> dict[Path, str]:
    """Return what every catalogue file must hold now."""
    texts = template()
    languages = sorted(FOLDER.glob("*.po"))
    return {TEMPLATE: text_of(texts), **{path: text_of(updated(path, texts)) for path in languages}}


def begin(language: str) -> Path:
    """Write an empty catalogue for one more language."""
    if language not in NAMES:
        raise SystemExit(f"Add {language} with its own name to NAMES in app/rules/languages.py first.")
    path = FOLDER / f"{language}.po"
    if path.exists():
        raise SystemExit(f"{path.relative_to(ROOT)} is there already.")
    catalogue = _empty(language)
    said = "Say here how guests are addressed and what else the words keep to."
    catalogue.header_comment = f"# {NAMES[language][0].capitalize()}.\n# {said}"
    path.write_text(text_of(catalogue), encoding="utf-8")
    return path


def _empty(language: str | None = None) -> Catalog:
    return Catalog(
        locale=language, project="Daybuoy", version="1", header_comment="# What guests read, in English.",
        creation_date=MADE, revision_date=MADE, fuzzy=False, msgid_bugs_address="the people of the shop",
        last_translator="nobody yet", language_team="the people of the shop",
    )  # fmt: skip


def _take(found: Catalog, path: Path, method: str, options: dict[str, str]) -> None:
    place = str(path.relative_to(ROOT))
    with path.open("rb") as file:
        for _, text, _, context in extract(method, file, keywords=KEYWORDS, options=options):
            if text:
                found.add(text, locations=[(place, 0)], context=context)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--new", metavar="LANGUAGE")
    asked = parser.parse_args()
    if asked.new:
        begin(asked.new)
    for name, text in files().items():
        name.write_text(text, encoding="utf-8")
