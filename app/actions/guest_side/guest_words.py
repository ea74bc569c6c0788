"""In which words a guest or a guardian was asked and agreed, and that those very words can be read again."""

import hashlib
import json
from dataclasses import dataclass

from app.actions.act import Act, Invalid
from app.records.guest_side.languages import (
    OF_THE_FORM,
    Words,
    complete_languages,
    relied_on_languages,
    words_in,
)
from app.records.guest_side.languages import words_shown as kept_words
from app.records.health.health_forms import owner
from app.records.tables.health import ConsentRow
from app.records.tables.languages import WordsShownRow
from app.rules.consents import ConsentText
from app.rules.languages import ORIGINAL
from app.rules.sentences import Sentence
from app.rules.translations import consent_stands

INTERPRETER = "interpreter"
UNDERSTANDS = Sentence(
    "Choose a language that you understand well enough to agree in it, or an adult who interprets for you."
)


@dataclass(frozen=True)
class Spoken:
    """How somebody was spoken to.

    language: of the words on the page. understands: a language with words to rely on, in which the person
    agrees as well; "" for none. interpreter: the name of the adult who interpreted; "" for none.
    """

    language: str = ORIGINAL
    understands: str = ""
    interpreter: str = ""


IN_ENGLISH = Spoken()


def words_of(act: Act, spoken: Spoken) -> Words:
    """Return the words of the page; raises Invalid for a language that is not offered."""
    if spoken.language not in complete_languages():
        raise Invalid({"language": Sentence("Choose one of the languages.")})
    return words_in(act.session, spoken.language)


def keep_words(act: Act, words: Words) -> str:
    """Keep every text of the form as it is worded now, once; return under which digest ("" for English)."""
    if words.original:
        return ""
    said = {
        entry.text.context or entry.text.original[0]: list(entry.words)
        for entry in words.entries.values()
        if entry.area in OF_THE_FORM
    }
    whole = json.dumps(said, ensure_ascii=False, sort_keys=True)
    digest = hashlib.sha256(f"{words.code}\n{whole}".encode()).hexdigest()
    if kept_words(act.session, digest) is None:
        act.add(WordsShownRow(language=words.code, digest=digest, words=whole, at=act.now))
    return digest


def say_consent(act: Act, row: ConsentRow, text: ConsentText, spoken: Spoken) -> ConsentRow:
    """Store a consent with the words it was asked in.

    A consent given to words that nobody has checked does not stand alone: raises Invalid without a language
    that the person understands well enough, or the name of who interpreted. A refusal always counts.
    """
    words = words_of(act, spoken)
    status = words.consent_status(text)
    understands = spoken.understands if spoken.understands in relied_on_languages(act.session) else ""
    if row.given and not consent_stands(status, understands, spoken.interpreter):
        raise Invalid({"understands": UNDERSTANDS})
    row.language = words.code
    row.text_status = str(status)
    row.words_digest = keep_words(act, words)
    if not status.relied_on and row.given:
        row.understood = understands
        row.interpreter = (
            act.house.ring.seal(owner(row.guest_ref), INTERPRETER, spoken.interpreter)
            if spoken.interpreter and not understands
            else ""
        )
    return act.add(row)
