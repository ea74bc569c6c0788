"""The manager's pages for translations: how far each language is checked, the texts, and better words."""

from dataclasses import dataclass
from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.setup import languages as acts
from app.records.guest_side.languages import AREAS, OF_THE_FORM, Entry, Words, complete_languages, words_in
from app.records.store.problems import NotHere
from app.rules.languages import NAMES, ORIGINAL
from app.rules.translations import TextStatus
from app.web.fields import NOTE_MOST
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
ON_A_PAGE = 20
OLDEST_CHECK = timedelta(days=730)
STATUS_WORDS = {
    TextStatus.ORIGINAL: ("original", "dot"),
    TextStatus.CHECKED: ("checked", "dot"),
    TextStatus.DRAFT: ("draft", "ring"),
    TextStatus.OUTDATED: ("outdated", "triangle"),
}


@dataclass(frozen=True)
class _Area:
    """One kind of text of a language: how many there are, and how many of them were checked."""

    key: str
    name: str
    texts: int
    checked: int
    of_the_form: bool


@router.get("/languages", name="languages")
def languages(front: Desk) -> Response:
    """Show each language with how much of it is checked."""
    found = [words_in(front.session, code) for code in complete_languages() if code != ORIGINAL]
    return front.page(
        "languages/languages.html",
        "Languages",
        found=[(words, NAMES[words.code][0].capitalize(), _areas(words)) for words in found],
    )


@router.get("/languages/{code}", name="language_texts")
def language_texts(front: Desk, code: str) -> Response:
    """Show the texts of one area with their translation."""
    return _texts_page(front, code)


@router.post("/languages/{code}", name="check_texts")
def check_texts(front: Desk, posted: PostedForm, code: str) -> Response:
    """Store that two people read what was ticked."""
    back = f"/languages/{code}{_asked(front)}"

    def check(act: Act) -> int:
        fields = posted.fields()
        translator = fields.text("translator", "who speaks the language")
        reader = fields.text("reader", "who knows diving")
        on = fields.date3("checked_on", "the day", front.today - OLDEST_CHECK, front.today)
        marks = fields.several("text", "texts", posted.lists.get("text", ()))
        fields.done()
        return acts.check_texts(act, code, marks, translator, reader, on or front.today)

    return front.do(
        posted, check, then=lambda _: back, again=lambda problem: _texts_page(front, code, problem)
    )


@router.get("/languages/{code}/{ref}", name="language_text")
def language_text(front: Desk, code: str, ref: str) -> Response:
    """Show one text with its translation, to put the words right."""
    return _text_page(front, code, ref)


@router.post("/languages/{code}/{ref}", name="correct_text")
def correct_text(front: Desk, posted: PostedForm, code: str, ref: str) -> Response:
    """Store better words for one text."""
    entry = _entry(_translation(front, code), ref)

    def correct(act: Act) -> Entry:
        fields = posted.fields()
        mark = fields.text("mark", "the text")
        words = [
            fields.text(f"words-{place}", "the translation", most=NOTE_MOST)
            for place in range(len(entry.words))
        ]
        fields.done()
        return acts.correct_text(act, code, mark, words)

    return front.do(
        posted,
        correct,
        then=lambda one: f"/languages/{code}?area={one.area}#text-{one.ref}",
        again=lambda problem: _text_page(front, code, ref, problem),
    )


def _asked(front: Front) -> str:
    query = front.request.url.query
    return f"?{query}" if query else ""


def _translation(front: Front, code: str) -> Words:
    if code == ORIGINAL or code not in complete_languages():
        raise NotHere(f"no translation {code}")
    return words_in(front.session, code)


def _entry(words: Words, ref: str) -> Entry:
    found = next((entry for entry in words.entries.values() if entry.ref == ref), None)
    if found is None:
        raise NotHere("no such text")
    return found


def _areas(words: Words) -> list[_Area]:
    found = []
    for key, (name, _) in AREAS.items():
        entries = [entry for entry in words.entries.values() if entry.area == key]
        checked = sum(entry.status is TextStatus.CHECKED for entry in entries)
        if entries:
            found.append(_Area(key, name, len(entries), checked, key in OF_THE_FORM))
    return found


def _texts_page(front: Front, code: str, problem: ProblemView | None = None) -> Response:
    words = _translation(front, code)
    areas = _areas(words)
    asked = front.request.query_params.get("area", areas[0].key)
    area = next((one for one in areas if one.key == asked), None)
    page = front.request.query_params.get("page", "1")
    if area is None or not page.isdecimal() or len(page) > len(str(area.texts)):
        raise NotHere("no such texts")
    entries = [entry for entry in words.entries.values() if entry.area == area.key]
    pages = -(-len(entries) // ON_A_PAGE)
    number = int(page)
    if not 1 <= number <= pages:
        raise NotHere("no such page")
    return front.page(
        "languages/texts.html",
        f"{NAMES[code][0].capitalize()}: {area.name.lower()}",
        words=words,
        areas=areas,
        area=area,
        number=number,
        pages=pages,
        at=f"/languages/{code}?area={area.key}&page={number}",
        entries=entries[(number - 1) * ON_A_PAGE : number * ON_A_PAGE],
        status_words=STATUS_WORDS,
        problem=problem,
    )


def _text_page(front: Front, code: str, ref: str, problem: ProblemView | None = None) -> Response:
    words = _translation(front, code)
    entry = _entry(words, ref)
    return front.page(
        "languages/text.html",
        f"{NAMES[code][0].capitalize()}: one text",
        words=words,
        entry=entry,
        status_words=STATUS_WORDS,
        problem=problem,
    )
