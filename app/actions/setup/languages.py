"""What the shop's people do about translations: check them, and put their words right. Only ever added to."""

import json
from collections.abc import Sequence
from datetime import date

from app.actions.act import Act, Invalid
from app.records.guest_side.languages import Entry, Words, complete_languages, words_in
from app.records.store.problems import NotHere
from app.records.tables.languages import TextCheckRow
from app.rules.languages import ORIGINAL
from app.rules.translations import faults, wrong_readers

CHANGED = "Some of these words have changed since the page was made. Read them again."


def words_to_check(act: Act, code: str) -> Words:
    """Return the words of a translation; raises NotHere for English and for what is not offered."""
    if code == ORIGINAL or code not in complete_languages():
        raise NotHere(f"no translation {code}")
    return words_in(act.session, code)


def check_texts(
    act: Act, code: str, marks: Sequence[str], translator: str, reader: str, checked_on: date
) -> int:
    """Store that two people read these texts beside their originals; return how many.

    marks: of each text as it stood on the page (``Entry.mark``). Raises Invalid for words that changed
    meanwhile, for none at all, and for one person in both parts.
    """
    words = words_to_check(act, code)
    wrong = wrong_readers(translator, reader)
    if wrong:
        raise Invalid({"reader": wrong})
    if not marks:
        raise Invalid({"text": "Tick each text that both have read."})
    now = {entry.mark: entry for entry in words.entries.values()}
    if set(marks) - set(now):
        raise Invalid({"text": CHANGED})
    for mark in marks:
        _keep(act, code, now[mark], now[mark].words, translator, reader, checked_on)
    return len(marks)


def correct_text(act: Act, code: str, mark: str, words: Sequence[str]) -> Entry:
    """Store better words for one text; two people read them before they count as checked.

    mark: of the text as it stood on the page. Raises Invalid for words that changed meanwhile or that do not
    keep the numbers and named values of the original.
    """
    found = {entry.mark: entry for entry in words_to_check(act, code).entries.values()}.get(mark)
    if found is None:
        raise Invalid({"words-0": CHANGED})
    wrong = {}
    for place, form in enumerate(words):
        sentences = faults(found.text, [form])
        if sentences:
            wrong[f"words-{place}"] = " ".join(sentences)
    if wrong:
        raise Invalid(wrong)
    if len(words) != len(found.words) or tuple(words) == found.words:
        raise Invalid({"words-0": "Change the words, or go back to the list."})
    _keep(act, code, found, tuple(words))
    return found


def _keep(
    act: Act,
    code: str,
    entry: Entry,
    words: tuple[str, ...],
    translator: str = "",
    reader: str = "",
    checked_on: date | None = None,
) -> None:
    act.add(
        TextCheckRow(
            language=code,
            context=entry.text.context,
            original=entry.text.original[0],
            original_digest=entry.text.digest,
            words=json.dumps(words, ensure_ascii=False),
            translator=translator,
            reader=reader,
            checked_on=checked_on,
            by=act.actor.name,
            at=act.now,
        )
    )
