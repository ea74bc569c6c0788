"""What every page in a guest's hands shares: the guest's own form, and how the visit ends."""

from collections.abc import Callable, Collection
from typing import Any

from fastapi.responses import Response

from app.actions.act import Act
from app.actions.guest_side.guest_words import INTERPRETER, UNDERSTANDS, Spoken
from app.records.guest_side.guest_form import GuestForm, guest_form
from app.records.guest_side.languages import own_name, relied_on_languages
from app.rules.drawn_signature import MOST_CHARACTERS
from app.rules.sentences import Sentence
from app.web.fields import NAME_MOST, NOTE_MOST, Fields
from app.web.front import Front
from app.web.pages import ProblemView
from app.web.posted import Posted


def own_form(front: Front) -> GuestForm:
    """Return the form of the guest whom the tablet is locked to."""
    return guest_form(front.session, front.house, front.visitor.guest_id, front.now)


def line(fields: Fields, name: str, missing: Sentence | None = None) -> str:
    """Return a line of text; ``missing`` is said when it is empty. All of it speaks any language."""
    value = fields.text(name, "this", most=NOTE_MOST, needed=False)
    if not value and missing:
        fields.errors.setdefault(name, missing)
    if len(value) > NAME_MOST:
        fields.errors[name] = Sentence(
            "Shorten this to %(most)d characters; it has %(count)d.", most=NAME_MOST, count=len(value)
        )
    return value


def chosen(fields: Fields, name: str, options: Collection[str], missing: Sentence) -> str:
    """Return one of the offered values; ``missing`` is said when none was chosen."""
    value = fields.choice(name, "one", options)
    if name in fields.errors:
        fields.errors[name] = missing
    return value


def spoken(front: Front) -> Spoken:
    """Return in which language the guest is spoken to."""
    return Spoken(front.language.code)


def agreed(front: Front, fields: Fields) -> Spoken:
    """Read in which words somebody agrees: those of the page, or one more language, or through an adult."""
    if front.language.relied_on:
        return spoken(front)
    options = (*relied_on_languages(front.session), INTERPRETER)
    said = chosen(fields, "understands", options, UNDERSTANDS)
    name = line(fields, "interpreter")
    if said == INTERPRETER and not name:
        fields.errors.setdefault(
            "interpreter", Sentence("Enter the name of the adult who interprets for you.")
        )
    if said == INTERPRETER:
        return Spoken(front.language.code, interpreter=name)
    return Spoken(front.language.code, understands=said)


def understood_context(front: Front) -> dict[str, Any]:
    """Return what the question for an understood language needs; None where the words need none."""
    language = front.language
    if language.relied_on:
        return {"understands": None}
    known = [(code, own_name(code)) for code in relied_on_languages(front.session)]
    none = language.gettext("None of these: an adult interprets for me")
    return {"understands": [*known, (INTERPRETER, none)]}


def drawn(fields: Fields) -> str:
    """Return a drawn signature as the page sent it; what it is worth is for the action to judge."""
    return fields.text("drawing", "the drawing", most=MOST_CHARACTERS, needed=False)


def ending(
    front: Front,
    posted: Posted,
    action: Callable[[Act], None],
    again: Callable[[ProblemView], Response],
) -> Response:
    """Carry out an act that ends the guest's visit."""
    return front.do(
        posted,
        action,
        then=lambda _: "/guest/done",
        again=again,
        show=lambda _: over(front),
    )


def over(front: Front) -> Response:
    """Take the guest's cookie away and show the empty page."""
    front.forget()
    language = front.language
    return front.to("/guest/done" if language.original else f"/guest/done?in={language.code}")
