"""What a group's sheet of paper says, held against itself before any of it becomes a record.

It is told after the fact: no gate can be asked any more, so none is. What cannot be so is said beside the
box, to be read again off the paper.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class PaperLine:
    """One person on the paper. number: of the member, in the fields' names. Instants aware; pressures in bar.

    went, back: None where the paper says nothing. in_since: when the records already have the person in the
    water. start_known: a start pressure on record. cylinder: one is on record or on the paper.
    """

    number: int
    name: str
    stays: bool
    went: datetime | None
    back: datetime | None
    start: float | None
    turn: float | None
    end: float | None
    in_since: datetime | None = None
    start_known: float | None = None
    cylinder: bool = True


@dataclass(frozen=True, slots=True)
class PaperCount:
    """One head count on the paper. field: its box. expected: how many the names say."""

    field: str
    counted: int
    expected: int


def line_problems(lines: Iterable[PaperLine], now: datetime) -> dict[str, str]:
    """Return field -> what cannot be so and what to do; empty for a sheet that may be written down."""
    found: dict[str, str] = {}
    for line in lines:
        found |= _times(line, now)
        found |= _pressures(line)
    return found


def count_problems(counts: Iterable[PaperCount], *, explained: bool) -> dict[str, str]:
    """Return field -> sentence for counts unlike the names. explained: what happened is written down."""
    return {
        one.field: f"{one.counted} were counted, {one.expected} stand by name. Read the paper again. "
        "If it says so, write under what happened how it was settled."
        for one in counts
        if one.counted != one.expected and not explained
    }


def _times(line: PaperLine, now: datetime) -> Mapping[str, str]:
    went = line.went or line.in_since
    wrong: dict[str, str] = {}
    if line.stays:
        for field, given in (("went", line.went), ("back", line.back)):
            if given is not None:
                wrong[f"{field}_{line.number}"] = (
                    f"{line.name} is marked as staying ashore. Take the time out."
                )
        return wrong
    if went is None:
        wrong[f"went_{line.number}"] = (
            f"Write when {line.name} went in, or mark that {line.name} stayed ashore."
        )
    for field, given, words in (("went", line.went, "time in"), ("back", line.back, "time back")):
        if given is not None and given > now:
            wrong[f"{field}_{line.number}"] = f"{line.name}'s {words} is still to come. Read the paper again."
    if went is not None and line.back is not None and line.back <= went:
        wrong[f"back_{line.number}"] = f"{line.name} cannot be back before going in. Read both times again."
    return wrong


def _pressures(line: PaperLine) -> Mapping[str, str]:
    read = [("start", line.start), ("turn", line.turn), ("end", line.end)]
    given = [(field, bar) for field, bar in read if bar is not None]
    if given and not line.cylinder:
        text = f"Write which cylinder {line.name} had: a pressure without one says nothing."
        return {f"cylinder_{line.number}": text}
    if line.stays:
        return {
            f"{field}_{line.number}": f"{line.name} is marked as staying ashore. Take the pressure out."
            for field, bar in given
            if field != "start"
        }
    wrong: dict[str, str] = {}
    before = ("start", line.start_known) if line.start is None else None
    for field, bar in given:
        if before is not None and before[1] is not None and bar > before[1]:
            text = (
                f"{line.name}'s {field} pressure is above the {before[0]}: pressure never rises under water."
            )
            wrong[f"{field}_{line.number}"] = f"{text} Read the paper again."
        before = (field, bar)
    return wrong
