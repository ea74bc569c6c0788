"""What was added to a closed day, or put right in it, after it was closed; and whether its seal holds."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.records.look_back.day_seal import Amendment, amendments, seal_of, wrong_seal
from app.records.store.house import House
from app.records.tables.days import DayRow
from app.records.tables.incidents import DayNoteRow

# Characters of a seal that a page and a day sheet show.
SHORT = 12
# Reading an incident and closing it correct nothing.
READING = ("read_incident", "close_incident")
# What each kind of record is called on a page.
WORDS = {
    "incident": "an incident",
    "incident_note": "an addition to an incident",
    "incident_fact": "an answer about an incident",
    "incident_step": "what was done after an incident",
    "incident_kept": "something kept after an incident",
    "pressure": "a pressure",
    "water_event": "a time in or out of the water",
    "head_count": "a count",
    "missing": "the missing-person procedure",
    "cylinder_out": "a cylinder given out or taken back",
    "kit_loan": "kit given out or taken back",
    "dive_group": "a group",
    "member": "who was in a group",
    "slot": "a slot",
    "talk": "a talk",
    "emergency_check": "the emergency kit check",
}


@dataclass(frozen=True)
class Amended:
    """One addition to a closed day: when, by whom, what in words, the note of it, and its incident if any."""

    at: datetime
    who: str
    what: str
    note: str = ""
    incident_id: int | None = None


@dataclass(frozen=True)
class DayAmended:
    """A closed day now. wrong: a plain sentence when its seal does not hold; sealed: whether it has one."""

    sealed: bool
    seal: str
    wrong: str | None
    additions: tuple[Amended, ...]


def day_amended(session: Session, house: House, closed: DayRow) -> DayAmended:
    """Return what was added to a closed day since, oldest first, and whether its seal holds."""
    found = [
        Amended(row.at, row.by, "a note on the day", row.note)
        for row in session.exec(
            select(DayNoteRow).where(DayNoteRow.day == closed.day).order_by(col(DayNoteRow.id))
        )
    ]
    seal = seal_of(session, closed.day)
    if seal is not None:
        found += _in_words(amendments(session, house.master, seal))
    return DayAmended(
        seal is not None,
        "" if seal is None else seal.seal[:SHORT],
        None if seal is None else wrong_seal(session, house.master, seal),
        tuple(sorted(found, key=lambda one: one.at)),
    )


def _in_words(changes: Iterable[Amendment]) -> list[Amended]:
    """Say each act once for each kind of record that it added or changed."""
    said: dict[tuple[int, str], Amended] = {}
    for one in changes:
        if one.act in READING:
            continue
        what = WORDS.get(one.table, one.table.replace("_", " "))
        if not one.added:
            what = f"{what}, put right"
        incident = one.record_id if one.table == "incident" else None
        said.setdefault((one.number, one.table), Amended(one.at, one.who, what, incident_id=incident))
    return list(said.values())
