"""The catalogues are what the program says now, and no guest's page holds words outside them."""

import re

import pytest

from tests.house import messages
from tests.house.tree import ROOT

STALE = "run: make messages"
TAG = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.S)


def untranslated(text: str) -> list[str]:
    """Return the words of a template that stand outside its catalogue; Meant English says lang="en"."""
    text = re.sub(r"<(\w+)[^>]*\blang=\"en\"[^>]*>.*?</\1>", " ", text, flags=re.S)
    said = [" ".join(TAG.sub(" ", part).split()) for part in re.findall(r">([^<>]*)<", TAG.sub(" ", text))]
    said += re.findall(r"(?:aria-label|alt|title|placeholder)=\"([^\"{]*)", text)
    return [words for words in said if re.search(r"[A-Za-z]{2}", words)]


def test_no_catalogue_is_stale() -> None:
    for path, text in messages.files().items():
        assert path.read_text(encoding="utf-8") == text, f"{path.name} is stale; {STALE}"


def test_no_text_is_missing_or_doubtful_in_any_language() -> None:
    for path in sorted(messages.FOLDER.glob("*.po")):
        left = [
            one.id
            for one in messages.read(path)
            if one.id and (one.fuzzy or not all([one.string] if isinstance(one.string, str) else one.string))
        ]
        assert left == [], path.name


def test_no_word_of_a_guest_page_stands_outside_the_catalogues() -> None:
    pages = (ROOT / "templates/guest_side").glob("*.html")
    texts = {path.name: path.read_text(encoding="utf-8") for path in pages}
    guests = {name: text for name, text in texts.items() if name.startswith("_") or "guest_base.html" in text}
    assert len(guests) > 8
    assert {name: untranslated(text) for name, text in guests.items() if untranslated(text)} == {}


def test_the_frame_of_guest_pages_is_translated_too() -> None:
    for name in ("guest_base.html", "translated.html"):
        assert untranslated((ROOT / "templates/_shared" / name).read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("planted", "found"),
    [
        ("<p>Hello</p>", ["Hello"]),
        ("<p>{{ _('Hello') }}</p>", []),
        ('<p lang="en">Hello</p>', []),
        ('<section aria-label="Ways out">{{ x }}</section>', ["Ways out"]),
        ("<p>{% if x %}Hello{% endif %}</p>", ["Hello"]),
        ("<b>{{ number }}</b> · <i></i>", []),
    ],
)
def test_a_planted_word_is_found(planted: str, found: list[str]) -> None:
    assert untranslated(planted) == found
