"""Who is in the water: one record per person, never a number, never a default.

Going in and coming out are answered by name. Head counts only check the names. A count that stays wrong
starts the missing-person procedure, which never ends by itself.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Literal

from app.rules import limits as L
from app.rules.decision import Decision, Reason, all_of, refuse
from app.rules.gas import Reading
from app.rules.measure import must
from app.rules.resolve import Limits

EventWord = Literal["in", "back", "never-entered"]

IN: EventWord = "in"
BACK: EventWord = "back"
NEVER_ENTERED: EventWord = "never-entered"


@dataclass(frozen=True, slots=True)
class PersonEvent:
    """One person went in, is back, or never entered.

    at: when it happened (aware UTC). by: who says so. arrival: order in which the shop got it; phones
    may send late and their clocks may be wrong, so order is arrival.
    """

    person_id: str
    event: EventWord
    at: datetime
    by: str | None
    arrival: int


class Lateness(StrEnum):
    """How a group stands against its planned exit."""

    NO_TIME = "no planned exit"
    ON_TIME = "on time"
    LATE = "late"
    EMERGENCY = "emergency"


def newest(events: Iterable[PersonEvent]) -> dict[str, PersonEvent]:
    """The event that counts for each person: the last to arrive.

    "In" counts whoever says so; "back" and "never-entered" take a name, so that nobody leaves the list
    without somebody answering for it.
    """
    counting: dict[str, PersonEvent] = {}
    for event in sorted(events, key=lambda one: one.arrival):
        if event.event == IN or event.by:
            counting[event.person_id] = event
    return counting


def in_water(events: Iterable[PersonEvent]) -> frozenset[str]:
    """Ids of everybody who went in and is not back."""
    return frozenset(person for person, event in newest(events).items() if event.event == IN)


def names_back(people: Mapping[str, str], events: Iterable[PersonEvent]) -> Decision:
    """Is each expected person, and whoever else went in, back or known never to have entered?"""
    known = newest(events)
    everyone = {**{person: f"person {person}" for person in known}, **people}
    return refuse(
        *(
            _by_name(
                name,
                "not answered" if person not in known else "in the water",
                f"{name} is not marked as back. Find {name} and mark the return.",
            )
            for person, name in everyone.items()
            if person not in known or known[person].event == IN
        )
    )


def entered(events: Iterable[PersonEvent]) -> frozenset[str]:
    """Ids of everybody who went in, back or not: whom a head count at the exit must find."""
    return frozenset(person for person, event in newest(events).items() if event.event != NEVER_ENTERED)


def times_in_order(people: Mapping[str, str], events: Iterable[PersonEvent]) -> Decision:
    """Does each person's return come after the entry? For flagging a record; never refuses a return."""
    told: dict[str, list[PersonEvent]] = {}
    for event in sorted(events, key=lambda one: one.arrival):
        told.setdefault(event.person_id, []).append(event)
    decisions = []
    for person, series in told.items():
        name = people.get(person, f"person {person}")
        went_in = [event.at for event in series if event.event == IN]
        returned = [event.at for event in series if event.event == BACK]
        if not returned:
            continue
        decisions.append(
            must(
                L.EXIT_AFTER_ENTRY,
                bool(went_in) and returned[-1] > went_in[-1],
                f"{name}'s return is not after the entry. Correct the time.",
                found=returned[-1].isoformat(timespec="minutes"),
                needed="a time in, then a time out",
                who=name,
            )
        )
    return all_of(decisions)


def lateness(due_at: datetime | None, now: datetime, limits: Limits) -> Lateness:
    """How late a group in the water is. due_at: planned exit; both aware UTC."""
    warn = limits[L.OVERDUE_AFTER_PLANNED_EXIT_WARN].number
    emergency = limits[L.OVERDUE_AFTER_PLANNED_EXIT_EMERGENCY].number
    if due_at is None:
        return Lateness.NO_TIME
    if emergency is None or now >= due_at + timedelta(minutes=emergency):
        return Lateness.EMERGENCY
    return Lateness.LATE if warn is None or now >= due_at + timedelta(minutes=warn) else Lateness.ON_TIME


@dataclass(frozen=True, slots=True)
class DiverEnd:
    """What is written down for one diver at the end. readings: in any order; end_bar: at the surface."""

    person_id: str
    name: str
    end_bar: float | None
    readings: tuple[Reading, ...] = ()


def pressures_read(divers: Iterable[DiverEnd], events: Iterable[PersonEvent]) -> Decision:
    """Has the end pressure of everybody who dived been read?"""
    dived = entered(events)
    return all_of(
        must(
            L.PRESSURE_READ,
            diver.end_bar is not None,
            f"{diver.name}'s end pressure has not been read. Read the gauge.",
            found="not read",
            needed="a reading",
            who=diver.name,
        )
        for diver in divers
        if diver.person_id in dived
    )


def _by_name(name: str, found: str, text: str) -> Reason:
    return Reason(L.ROLL_CALL_BY_NAME.key, text, found, "back, or never entered", "", "hard limit", name)
