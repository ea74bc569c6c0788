"""The briefing as guests hear or read it: one sentence for each item, with the group's own figures.

Our own words for what ``briefing`` lists; a guide says them, or holds them up in the guest's language.
"""

from collections.abc import Mapping

SENTENCES: Mapping[str, str] = {
    "never_hold_breath": "Never hold your breath. Breathe in and out all the time.",
    "stay_close": "Stay within arm's reach of your guide, all the time.",
    "ears": "Clear your ears early and often. Stop when it hurts, and show it to your guide.",
    "abort": "Anyone may end the dive at any time. Nobody has to say why.",
    "turn": "We all start back when the lowest gauge reads %(pressure)s.",
    "lost": (
        "If you lose the group, look around for %(minutes)s min, not longer. "
        "Then go up slowly and fill your jacket."
    ),
    "time": "We stay under water for %(minutes)s min at most.",
    "signals": "Now we show each other the hand signals.",
    "questions": "Do you have any questions? Ask them now.",
}
"""Sentence by the key of its item; named values: pressure with its unit, minutes as a number."""


def briefing_code(key: str) -> str:
    """Return the code of an item's sentence, which stands on every translation of it as well."""
    return f"briefing.{key}"
