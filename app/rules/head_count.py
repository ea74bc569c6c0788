"""Head counts that check the roll call, the recount, and the missing-person procedure.

A count needs two independent results: two counters, the second without seeing the first; or one counter
with two methods, at least one in which people take part. Source: Queensland Safety in Recreational Water
Activities Regulation 2024, ss 15 and 16.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from app.rules import limits as L
from app.rules import roll_call
from app.rules.decision import ALLOWED, Decision, Reason, all_of, refuse
from app.rules.measure import must, within
from app.rules.resolve import Limits
from app.rules.roll_call import DiverEnd, PersonEvent

CountMethod = Literal["heads", "names"]
"""heads: somebody counts. names: each person answers, so people take part."""

ACTIVE: frozenset[CountMethod] = frozenset({"names"})


class CountState(StrEnum):
    """Where a count stands."""

    COUNT = "count"
    AGREED = "agreed"
    RECOUNT = "recount"
    MISSING = "missing person"
    FOUND = "found"


@dataclass(frozen=True, slots=True)
class Count:
    """One result. counter: who counted. blind: made without seeing an earlier result; None not known."""

    counter: str | None
    method: CountMethod
    number: int | None
    blind: bool | None


@dataclass(frozen=True, slots=True)
class Round:
    """One round of counting. results: in the order in which they arrived.

    people: how many had gone in by name when it was counted; kept, so that a later correction of names
    does not turn a wrong count into a right one.
    """

    results: tuple[Count, ...]
    people: int


@dataclass(frozen=True, slots=True)
class Found:
    """Where a missing person was found, and who says so."""

    where: str | None
    by: str | None


@dataclass(frozen=True, slots=True)
class MissingPerson:
    """The procedure as it stands. people: id -> name of the missing; found: id -> where and by whom."""

    people: Mapping[str, str]
    found: Mapping[str, Found]


def counts_agree(last: Round | None, people: int, limits: Limits) -> Decision:
    """Are there two independent results, and do both equal `people`, the number who went in by name?"""
    results = () if last is None else last.results
    counted = tuple(count for count in results if count.number is not None and count.counter)
    wrong = sorted({count.number for count in counted if count.number is not None and count.number != people})
    agree = must(
        L.COUNTS_AGREE,
        not wrong,
        "The counts and the names do not agree. Count everyone again.",
        found=", ".join(str(number) for number in wrong),
        needed=str(people),
    )
    return _independent(counted, limits) + agree


def count_state(
    rounds: tuple[Round, ...], people: int, missing: MissingPerson | None, limits: Limits
) -> CountState:
    """Where the count stands after these rounds. Nothing here depends on time: it never ends by waiting.

    Once recounts are used up the procedure runs, even if a later count agrees, until it is settled.
    """
    if missing is not None:
        return CountState.FOUND if missing_settled(missing).allowed else CountState.MISSING
    mismatches = sum(is_mismatch(one) for one in rounds)
    recounts = limits[L.RECOUNTS_BEFORE_EMERGENCY].number
    if mismatches and (recounts is None or mismatches > recounts):
        return CountState.MISSING
    if rounds and is_mismatch(rounds[-1]):
        return CountState.RECOUNT
    if rounds and counts_agree(rounds[-1], people, limits).allowed:
        return CountState.AGREED
    return CountState.RECOUNT if mismatches else CountState.COUNT


def is_mismatch(one: Round) -> bool:
    """Whether any result of a round differs from the number by name at that time."""
    return any(count.number is not None and count.number != one.people for count in one.results)


def missing_settled(missing: MissingPerson) -> Decision:
    """Is each missing person named, with where found and who says so? There is no other end."""
    if not missing.people:
        text = "Nobody is named as missing. Call the names and enter who does not answer."
        return refuse(Reason(L.MISSING_SETTLED.key, text, "no name", "a name", "", "hard limit"))
    nowhere = Found(None, None)
    return all_of(
        must(
            L.MISSING_SETTLED,
            bool(missing.found.get(person, nowhere).where and missing.found.get(person, nowhere).by),
            f"{name} is still missing. Go on searching; enter where {name} was found.",
            found="not found",
            needed="where, and who says so",
            who=name,
        )
        for person, name in missing.people.items()
    )


def everyone_back(
    people: Mapping[str, str],
    events: Iterable[PersonEvent],
    rounds: tuple[Round, ...],
    missing: MissingPerson | None,
    limits: Limits,
) -> Decision:
    """May the page say that everyone is back? Names first, then both counts, then the procedure's end.

    people: id -> name of everybody expected.
    """
    told = tuple(events)
    entered = len(roll_call.entered(told))
    last = rounds[-1] if rounds else None
    settled = ALLOWED if missing is None else missing_settled(missing)
    if missing is None and count_state(rounds, entered, None, limits) is CountState.MISSING:
        text = "The counts stayed wrong. Start the missing-person procedure."
        settled = refuse(Reason(L.MISSING_SETTLED.key, text, "not started", "started", "", "hard limit"))
    return all_of((roll_call.names_back(people, told), counts_agree(last, entered, limits), settled))


@dataclass(frozen=True, slots=True)
class DiveEnd:
    """What must be known before a dive is closed.

    people: id -> name of everybody expected. happened: what happened in words, "nothing" included; an
    empty answer is none.
    """

    people: Mapping[str, str]
    events: tuple[PersonEvent, ...]
    rounds: tuple[Round, ...]
    missing: MissingPerson | None
    divers: tuple[DiverEnd, ...]
    happened: str | None


def may_close_dive(dive: DiveEnd, limits: Limits) -> Decision:
    """May the dive be closed: everyone back by name and count, times and pressures in, and what happened?"""
    said = must(
        L.INCIDENT_ANSWERED,
        bool(dive.happened and dive.happened.strip()),
        "Nobody wrote what happened. Write it, or write that nothing did.",
        found="blank",
        needed="what happened, or nothing",
    )
    return all_of(
        (
            everyone_back(dive.people, dive.events, dive.rounds, dive.missing, limits),
            roll_call.times_in_order(dive.people, dive.events),
            _everyone_has_an_end(dive),
            roll_call.pressures_read(dive.divers, dive.events),
            said,
        )
    )


def _everyone_has_an_end(dive: DiveEnd) -> Decision:
    written = {diver.person_id for diver in dive.divers}
    return all_of(
        must(
            L.PRESSURE_READ,
            person in written,
            f"{dive.people.get(person, person)} has no end pressure. Read the gauge.",
            found="not read",
            needed="a reading",
            who=dive.people.get(person, person),
        )
        for person in sorted(roll_call.entered(dive.events))
    )


def _independent(counted: tuple[Count, ...], limits: Limits) -> Decision:
    results = {(count.counter, count.method) for count in counted}
    text = "Two independent counts are needed. Let a second person count, or call the names."
    enough = within(limits[L.COUNT_METHODS], len(results), unknown=text, broken=text)
    if len({count.counter for count in counted}) > 1:
        return enough + must(
            L.SECOND_COUNT_BLIND,
            all(count.blind is True for count in counted[1:]),
            "The second counter saw the first result. Count again without looking.",
            found="seen, or not known",
            needed="not seen",
        )
    active = sum(method in ACTIVE for _, method in results)
    lone = "One person counted alone. Call the names so that everyone answers."
    return enough + within(limits[L.COUNT_ACTIVE_METHODS], active, unknown=lone, broken=lone)
