"""The words of the aftercare card and of the page that a guest takes home, each under its code.

The words are our own. They are first aid advice in plain words, no diagnosis: a shop lets its own dive doctor
read them, as it does each translation.
"""

from collections.abc import Mapping
from types import MappingProxyType

VERSION = "2026-11"

# In %(...)s stand the times and numbers; a translation keeps each of them.
CARD: Mapping[str, str] = MappingProxyType(
    {
        "card.title": "Your dive today",
        "card.keep": "Keep this card until %(until)s.",
        "card.surfaced": "You surfaced at %(surfaced)s.",
        "card.fly": "Do not fly or go above %(height)s m before %(allowed)s.",
        "card.advise": "Better: wait until %(advised)s. Mountain roads and balloons count.",
        "card.now": "Call %(ambulance)s (ambulance) NOW if:",
        "card.now.1": "you can't breathe well, your chest hurts, you cough pink or froth",
        "card.now.2": "you pass out, feel confused, can't see or speak well",
        "card.now.3": "an arm or leg is weak or numb",
        "card.now.4": "you can't pass water",
        "card.now.5": "you can't stand straight",
        "card.now.do": "Lie down. Say: “I was scuba diving today.” Ask for oxygen.",
        "card.today": "Call us %(shop)s or the dive doctor %(doctor)s today if:",
        "card.today.1": "joints ache, skin tingles, itches or has blue-red marks",
        "card.today.2": "you are far more tired than you should be",
        "card.today.3": "an ear hurts, rings or hears less",
        "card.today.4": "you feel dizzy",
        "card.today.5": "your face or tooth hurts, or your nose bleeds a lot",
        "card.fine": "Fine, and soon gone: ears a bit full, a mask mark, a dry mouth.",
        "card.do": "Do: drink water, eat, keep warm, rest.",
        "card.dont": "Don't: dive again, run hard, sit in a hot tub, or drink much alcohol today.",
        "card.unsure": "Not sure? Call. No call is silly.",
    }
)

MEMENTO: Mapping[str, str] = MappingProxyType(
    {
        "memento.title": "A dive at %(place)s",
        "memento.by": "%(name)s, with %(guide)s",
        "memento.minutes": "minutes under water",
        "memento.depth": "metres at the deepest",
        "memento.gas": "bar left of %(start)s",
        "memento.line": "How deep, minute by minute, drawn from the time and the greatest depth",
        "memento.surface": "surface",
        "memento.not": "A first try with a guide. An experience like this gives no qualification to dive.",
    }
)


def filled(text: str, original: str, values: Mapping[str, str]) -> str:
    """Return a text with its values filled in; the original where a translation lost one of them."""
    try:
        said = text % values
    except (KeyError, ValueError, TypeError):
        return original % values
    lost = any(f"%({name})s" in original and f"%({name})s" not in text for name in values)
    return original % values if lost else said
