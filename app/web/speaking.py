"""Templates in the reader's own words: ``_``, ``ngettext`` and ``pgettext`` ask the page's ``language``.

A page without words of its own (every page of the staff) speaks English. What a catalogue or a reader of the
shop wrote is text, never markup: it is escaped like everything else that somebody typed.
"""

from jinja2 import Environment, pass_context
from jinja2.runtime import Context
from markupsafe import Markup, escape

from app.records.guest_side.languages import ENGLISH, Words


def speak(env: Environment) -> None:
    """Give an environment the words of each page it renders."""
    env.install_gettext_callables(  # type: ignore[attr-defined]
        _gettext, _ngettext, newstyle=True, pgettext=_pgettext, npgettext=None
    )
    env.filters["bdi"] = isolated
    env.filters["strong"] = strong


def isolated(text: object) -> Markup:
    """Return a name set apart, so that its writing direction does not turn the sentence around it."""
    return Markup("<bdi>{}</bdi>").format(text)


def strong(text: object) -> Markup:
    """Return words that weigh more than the sentence around them."""
    return Markup("<b>{}</b>").format(text)


def words_of(context: Context) -> Words:
    """Return the words of the page being rendered."""
    words: Words = context.get("language", ENGLISH)
    return words


@pass_context
def _gettext(context: Context, text: str) -> Markup:
    return escape(words_of(context).gettext(text))


@pass_context
def _ngettext(context: Context, one: str, many: str, number: int) -> Markup:
    return escape(words_of(context).ngettext(one, many, number))


@pass_context
def _pgettext(context: Context, code: str, text: str) -> Markup:
    return escape(words_of(context).pgettext(code, text))
