"""What may still be written about a dive, and when: before it, after it, and once its day is signed off.

Coming out of the water is not asked here: it is never refused.
"""

from collections.abc import Mapping
from types import MappingProxyType

from app.rules import limits as L
from app.rules.decision import Decision
from app.rules.measure import must

COMPUTERS: Mapping[str, str] = MappingProxyType(
    {"everyone": "Everyone", "guide": "The guide", "nobody": "Nobody"}
)
"""Who had a dive computer or a gauge that keeps the depth, as it is chosen."""


def had_computer(said: str, part: str) -> bool | None:
    """Return whether somebody of this part in the group ("guide", "guest") had one; None: not noted."""
    if said not in COMPUTERS:
        return None
    return said == "everyone" or (said == "guide" and part == "guide")


def may_prepare(entered: bool | None) -> Decision:
    """May briefing and kit check still be answered? What is written after going in prepared nobody."""
    return must(
        L.ENTRY_STILL_OPEN,
        entered is False,
        "This group went in already. Its briefing and kit check stay as they were.",
        found="went in" if entered else "not known",
        needed="not yet in",
    )


def may_write(entered: bool | None, day_signed_off: bool | None) -> Decision:
    """May the figures of a dive be written or put right: after going in, until the day is signed off?"""
    gone_in = must(
        L.ROLL_CALL_BY_NAME,
        entered is True,
        "This group has not gone in. Do the roll call out first.",
        found="not gone in" if entered is False else "not known",
        needed="gone in",
    )
    return gone_in + may_put_right(day_signed_off)


def may_put_right(day_signed_off: bool | None) -> Decision:
    """May an earlier figure be put right? After the day is signed off, a note on an incident says it."""
    return must(
        L.DIVE_CLOSED,
        day_signed_off is False,
        "This day is signed off. Write down what was wrong as an incident.",
        found="signed off" if day_signed_off else "not known",
        needed="an open day",
    )


def may_take_mark_back(name: str, event: str) -> Decision:
    """May the mark "back" of a person be taken back? event: the newest water event, "" while there is none.

    Only who went in through the roll call out can still be in: nobody goes in by a correction.
    """
    words = {"": "not answered", "never-entered": "never went in"}
    return must(
        L.ROLL_CALL_BY_NAME,
        event in {"in", "back"},
        f"{name} never went in on the roll call. If {name} is missing, start the missing-person procedure.",
        found=words.get(event, event),
        needed="went in",
        who=name,
    )
