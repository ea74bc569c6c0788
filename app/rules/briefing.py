"""What is said before the water and what is checked on each person's kit, at two pauses of at most 9 items.

Each item is answered with a state or a value, never with a bare tick, and stands in order of what
matters most when time runs short.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from app.rules import limits as L
from app.rules.decision import Decision, Reason, all_of, refuse
from app.rules.limits import Limit
from app.rules.measure import must, within
from app.rules.resolve import Limits

REVISED = date(2026, 11, 25)
"""When both lists were last looked through; shown on the lists."""

_HSE = "UK HSE information for recreational divers who pay for a guide (2020/2025)"
_SPAIN = "Spain, Real Decreto 550/2020, annex III"
_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Item:
    """One line of a pause.

    states: the answers to choose from; only the first one lets the group go on. Empty for a value.
    limit: for a value, the limit it is held against.
    """

    key: str
    words: str
    source: str
    states: tuple[str, ...] = ()
    limit: Limit | None = None


BRIEFING: tuple[Item, ...] = (
    Item("never_hold_breath", "Never hold your breath", _PRACTICE, ("said back", "not yet")),
    Item("stay_close", "Within arm's reach of the guide, all the time", _PRACTICE, ("agreed", "not yet")),
    Item("ears", "Clear the ears early; stop when it hurts", _PRACTICE, ("said back", "not yet")),
    Item("abort", "Anyone may end the dive at any time, without a reason", _HSE, ("agreed", "not yet")),
    Item("turn", "All start back when the lowest gauge reads", _HSE, limit=L.TURN_PRESSURE),
    Item(
        "lost",
        "Minutes to look for a lost diver, then up and jackets filled",
        _HSE,
        limit=L.SEPARATION_SEARCH,
    ),
    Item("time", "Longest time under water", _HSE, limit=L.BOTTOM_TIME_MAX),
    Item("signals", "Hand signals", _PRACTICE, ("shown by all", "not yet")),
    Item("questions", "Questions, and a language everyone follows", _PRACTICE, ("all answered", "some open")),
)
"""The pause ashore, said to the whole group."""

KIT_CHECK: tuple[Item, ...] = (
    Item("air_on", "Cylinder valve", _PRACTICE, ("open", "closed")),
    Item("breathes", "Both second stages", _SPAIN, ("breathe", "do not breathe")),
    Item("gauge_steady", "Gauge while breathing", _PRACTICE, ("steady", "drops")),
    Item("jacket", "Buoyancy jacket fills, holds and empties", _PRACTICE, ("works", "does not work")),
    Item("weights", "Weights can be dropped with one hand", _PRACTICE, ("free", "caught")),
    Item("buckles", "Buckles, hoses and gauge in place", _PRACTICE, ("in place", "to be put right")),
    Item("mask_fins", "Mask fits, fins strapped", _PRACTICE, ("fit", "do not fit")),
)
"""The pause at the water, for each person in turn."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer. value: a state's words or a figure. about: id of the person for the kit check.

    by: who answered, by_key: the same person as the lists of the group know them. on: the shop's date.
    Later answers win.
    """

    item: str
    value: str | float | None
    by: str | None
    on: date | None
    about: str = ""
    by_key: str = ""

    @property
    def named(self) -> bool:
        """Whether it is known who answered."""
        return bool(self.by) and bool(self.by_key)


SECOND_EYES = "second_eyes"
"""The item that says who looked at a kit as second: its value is that person's key."""
SAID_IN = "said_in"
"""The item that says in which language the briefing was said."""


def briefing_complete(answers: Iterable[Answer], limits: Limits, day: date) -> Decision:
    """Has a named guide given the whole briefing today? Each item still open is its own reason."""
    return _complete(L.BRIEFING_COMPLETE, BRIEFING, answers, limits, day, "", "")


def kit_checked(answers: Iterable[Answer], limits: Limits, day: date, person_id: str, name: str) -> Decision:
    """Is this person's kit checked today and in order, and did a second person look?

    Each item still open is its own reason; who looks second is asked once all are in order.
    """
    told = tuple(answers)
    items = _complete(L.KIT_CHECK_COMPLETE, KIT_CHECK, told, limits, day, person_id, name)
    if not items.allowed:
        return items
    return items + must(
        L.KIT_CHECK_COMPLETE,
        second_look(told, day, person_id) is not None,
        f"Only one person looked at the kit of {name or 'this person'}. Name who looked as second.",
        found="one pair of eyes",
        needed="a second person, not the wearer",
        who=name,
    )


def second_look(answers: Iterable[Answer], day: date, person_id: str) -> Answer | None:
    """Return the second look at this person's kit that counts; None while there is none.

    It is a named person's who neither wears the kit nor checked it first, after the last change.
    """
    standing: dict[str, Answer] = {}
    second: Answer | None = None
    for answer in answers:
        if answer.about != person_id or answer.on != day or not answer.named:
            continue
        if answer.item == SECOND_EYES:
            second = answer
            continue
        before = standing.get(answer.item)
        standing[answer.item] = answer
        if before is None or before.value != answer.value:
            second = None
    if second is None or not isinstance(second.value, str):
        return None
    return second if may_look_second(second.value, person_id, standing.values()) else None


def standing_checks(answers: Iterable[Answer], day: date, wearer: str) -> dict[str, Answer]:
    """Return the answers of that day's check of one person's kit that stand, by item."""
    items = {item.key for item in KIT_CHECK}
    told = {a.item: a for a in answers if a.about == wearer and a.on == day and a.item in items}
    return {item: answer for item, answer in told.items() if answer.value is not None}


def may_look_second(key: str, wearer: str, checks: Iterable[Answer]) -> bool:
    """May this person be the second pair of eyes: named, not the wearer, not who checked first?"""
    return bool(key) and key != wearer and key not in {one.by_key for one in checks}


def _complete(
    rule: Limit,
    items: tuple[Item, ...],
    answers: Iterable[Answer],
    limits: Limits,
    day: date,
    person_id: str,
    name: str,
) -> Decision:
    newest: dict[str, Answer] = {}
    for answer in answers:
        if answer.about == person_id:
            newest[answer.item] = answer
    return all_of(_answered(rule, item, newest.get(item.key), limits, day, name) for item in items)


def _answered(
    rule: Limit, item: Item, answer: Answer | None, limits: Limits, day: date, name: str
) -> Decision:
    whose = f" ({name})" if name else ""
    if answer is None or answer.value is None or not answer.named or answer.on != day:
        wanted = item.states[0] if item.states else "a value"
        text = f"Not answered today: {item.words.lower()}{whose}. Go through it."
        return refuse(Reason(rule.key, text, "not answered today", wanted, "", "hard limit", name))
    if item.limit is None:
        return must(
            rule,
            answer.value == item.states[0],
            f"Not yet in order: {item.words.lower()}{whose}. Put it right first.",
            found=str(answer.value),
            needed=item.states[0],
            who=name,
        )
    text = f"The figure does not fit: {item.words.lower()}. Say it again."
    figure = float(answer.value) if isinstance(answer.value, int | float) else None
    return within(limits[item.limit], figure, unknown=text, broken=text, who=name)
