"""What a translation is worth: its status, and what must be equal in the original and in other words."""

import hashlib
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum


class TextStatus(StrEnum):
    """How far words may be relied on, best first."""

    # The words as they were first written.
    ORIGINAL = "original"
    # Read by two named people: one who speaks the language, one who knows diving.
    CHECKED = "checked"
    # Nobody has checked it.
    DRAFT = "draft"
    # The original has changed since.
    OUTDATED = "outdated"

    @property
    def relied_on(self) -> bool:
        """Whether an answer or a consent given to these words stands by itself."""
        return self in (TextStatus.ORIGINAL, TextStatus.CHECKED)


def worst(statuses: Iterable[str]) -> TextStatus:
    """Return the worst of several statuses; original when there are none, draft for an unknown word."""
    order = list(TextStatus)
    known = {str(one): one for one in order}
    return max(
        (known.get(str(one), TextStatus.DRAFT) for one in statuses),
        key=order.index,
        default=TextStatus.ORIGINAL,
    )


def consent_stands(status: str, understood: str, interpreter: str) -> bool:
    """Return whether a consent counts: words to rely on, or a language or an adult that made it understood.

    status: of the words shown. understood: a language with words to rely on that the person confirmed.
    interpreter: a name, sealed or not; "" for nobody.
    """
    return worst((status,)).relied_on or bool(understood or interpreter)


@dataclass(frozen=True, slots=True)
class Text:
    """One text of the program. context: its code, where it has one. original: English, one or two forms.

    formatted: whether named values are filled in.
    """

    context: str
    original: tuple[str, ...]
    formatted: bool = False

    @property
    def key(self) -> tuple[str, str]:
        """Under which translations are found: a text with a code keeps its place when its words change."""
        return (self.context, "" if self.context else self.original[0])

    @property
    def digest(self) -> str:
        """Fingerprint of the original; another one means that its words have changed."""
        return hashlib.sha256("\0".join((self.context, *self.original)).encode()).hexdigest()


def wrong_readers(translator: str, reader: str) -> str | None:
    """Return a sentence unless two different people checked a text."""
    if translator.casefold().split() == reader.casefold().split():
        return "Two different people check a text: one speaks the language, the other knows diving."
    return None


LONGEST = 1000
_PLACE = re.compile(r"%\((\w+)\)([a-z])")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_OTHER_DIGITS = str.maketrans("٠١٢٣٤٥٦٧٨٩٫", "0123456789.")
# Isolates and overrides hide what a text says; a mark of direction beside a number is fine.
_HIDDEN = re.compile("[\u202a-\u202e\u2066-\u2069\x00-\x08\x0b-\x1f\x7f]")


def numbers_in(text: str) -> Counter[str]:
    """Return every number of a text, written alike whatever the language's digits and decimal sign."""
    bare = _PLACE.sub(" ", text).translate(_OTHER_DIGITS)
    return Counter(found.replace(",", ".") for found in _NUMBER.findall(bare))


def placeholders_in(text: str) -> Counter[str]:
    """Return the named values that a text has places for."""
    return Counter(match.group() for match in _PLACE.finditer(text))


def faults(text: Text, words: Sequence[str]) -> list[str]:
    """Return what is wrong with a translation, as sentences; none when nothing measurable is.

    A plural form may leave its number out ("one guest"), everything else must be there.
    """
    found: list[str] = []
    for form in words:
        found += _faults_of(text, form)
    return list(dict.fromkeys(found))


def _faults_of(text: Text, form: str) -> list[str]:
    if not form.strip():
        return ["Write the translation: it must not be empty."]
    if len(form) > LONGEST:
        return [f"Shorten the translation to {LONGEST} characters."]
    if _HIDDEN.search(form):
        return ["Remove hidden control characters from the translation."]
    found = []
    plural = len(text.original) > 1
    wanted = placeholders_in(text.original[-1])
    given = placeholders_in(form)
    spared = Counter({name: count for name, count in wanted.items() if plural and name.startswith("%(num)")})
    if given != wanted and given != wanted - spared:
        named = ", ".join(sorted(wanted)) or "none"
        found.append(f"Keep the named values exactly as in the original: {named}.")
    if not plural and numbers_in(form) != numbers_in(text.original[0]):
        named = ", ".join(sorted(numbers_in(text.original[0]).elements())) or "none"
        found.append(f"Keep the numbers of the original: {named}.")
    if text.formatted and "%" in _PLACE.sub("", form).replace("%%", ""):
        found.append("Write a percent sign twice: %%.")
    return found
