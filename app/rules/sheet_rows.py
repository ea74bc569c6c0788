"""What a sheet of things would do to the shop's records, row by row, before anybody says so.

A sheet is text cells under a header. Each row is new, a change, there already, or broken with reasons.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from app.rules.sheet_cells import BadCell, clean_cell

NEW, CHANGES, SAME, BROKEN = "new", "changes", "already there", "broken"
_HEAD = re.compile(r"^(.*?)\s*(?:[(\[]\s*(.*?)\s*[)\]])?\s*:?$")


@dataclass(frozen=True, slots=True)
class Column:
    """One column. title: as exports write it, with its unit; names: other headings that mean the same.

    read: from a cell's text to its value, or BadCell. unit: what its numbers are in.
    """

    key: str
    title: str
    names: tuple[str, ...]
    read: Callable[[str], Any]
    needed: bool = False
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Known:
    """A record that the shop has: its values by column, and whether it left the shop."""

    id: int
    values: Mapping[str, Any]
    gone: bool = False


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why a row cannot be taken: in which column, and what to do."""

    column: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the sheet. row: its number in the sheet; changes: (column, old, new) as words."""

    row: int
    number: str
    outcome: str
    values: Mapping[str, Any]
    known_id: int | None = None
    changes: tuple[tuple[str, str, str], ...] = ()
    troubles: tuple[Trouble, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a sheet would do. troubles: of the header; with any of them no row is read."""

    rows: tuple[Row, ...] = ()
    ignored: tuple[str, ...] = ()
    troubles: tuple[Trouble, ...] = ()

    def of(self, outcome: str) -> tuple[Row, ...]:
        """Return the rows with one outcome."""
        return tuple(row for row in self.rows if row.outcome == outcome)


@dataclass(frozen=True)
class Kind:
    """One kind of sheet. number: the column by which a thing is known; check: what holds over a whole row."""

    columns: Sequence[Column]
    number: str
    check: Callable[[Mapping[str, Any]], list[tuple[str, str]]] = field(default=lambda _values: [])


def read_sheet(
    kind: Kind, header: Sequence[str], rows: Sequence[tuple[int, Sequence[str]]], known: Mapping[str, Known]
) -> Sheet:
    """Return what each row would do; ``known``: the shop's records by their number in small letters."""
    places, ignored, troubles = _places(kind, header)
    if troubles:
        return Sheet(ignored=tuple(ignored), troubles=tuple(troubles))
    seen: dict[str, int] = {}
    judged = tuple(_row(kind, places, row, cells, known, seen) for row, cells in rows)
    return Sheet(judged, tuple(ignored))


def say(value: Any) -> str:
    """Say a value as a page and a sheet show it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    return f"{value:g}" if isinstance(value, float) else str(value)


def _places(
    kind: Kind, header: Sequence[str]
) -> tuple[list[tuple[int, Column, str]], list[str], list[Trouble]]:
    """Find each column's place; the unit in brackets is what its numbers are in."""
    by_name = {_name(name): one for one in kind.columns for name in (one.title, *one.names)}
    places: list[tuple[int, Column, str]] = []
    ignored, troubles = [], []
    for place, said in enumerate(header):
        column = by_name.get(_name(said))
        if column is None:
            ignored += [said.strip()] if said.strip() else []
        elif any(column is one for _, one, _ in places):
            troubles.append(
                Trouble(column.title, "This heading is there twice. Keep one of the two columns.")
            )
        else:
            places.append((place, column, _unit(said) or column.unit))
    there = [column for _, column, _ in places]
    for column in kind.columns:
        if column.needed and column not in there:
            troubles.append(Trouble(column.title, f"Add a column with the heading {column.title}."))
    return places, ignored, troubles


def _row(
    kind: Kind,
    places: Sequence[tuple[int, Column, str]],
    row: int,
    cells: Sequence[str],
    known: Mapping[str, Known],
    seen: dict[str, int],
) -> Row:
    values: dict[str, Any] = {}
    troubles: list[Trouble] = []
    for place, column, unit in places:
        try:
            text = clean_cell(cells[place]) if place < len(cells) else ""
            if not text:
                continue
            if unit != column.unit and text[-1].isdigit():
                text = f"{text} {unit}"
            values[column.key] = column.read(text)
        except BadCell as bad:
            troubles.append(Trouble(column.title, str(bad)))
    titles = {column.key: column.title for column in kind.columns}
    number = str(values.get(kind.number, ""))
    mine = known.get(number.casefold()) if number else None
    if number and number.casefold() in seen:
        troubles.append(
            Trouble(
                titles[kind.number], f"Row {seen[number.casefold()]} has this number too. Keep one of them."
            )
        )
    elif number:
        seen[number.casefold()] = row
    if mine is not None and mine.gone:
        troubles.append(
            Trouble(
                titles[kind.number], "This number left the shop. Choose another, or take that one back first."
            )
        )
    wrong = {trouble.column for trouble in troubles}
    for column in kind.columns:
        absent = column.key not in values and (mine is None or column.key == kind.number)
        if column.needed and absent and column.title not in wrong:
            troubles.append(Trouble(column.title, "This is empty. Fill it in."))
    whole = {**mine.values, **values} if mine else values
    troubles += [
        Trouble(titles[key], sentence) for key, sentence in kind.check(whole) if titles[key] not in wrong
    ]
    if troubles:
        return Row(row, number, BROKEN, values, None if mine is None else mine.id, (), tuple(troubles))
    if mine is None:
        return Row(row, number, NEW, values)
    changed = {
        key: value for key, value in values.items() if key != kind.number and mine.values.get(key) != value
    }
    changes = tuple((titles[key], say(mine.values.get(key)), say(value)) for key, value in changed.items())
    return Row(row, number, CHANGES if changes else SAME, changed, mine.id, changes)


def _name(heading: str) -> str:
    match = _HEAD.match(" ".join(heading.replace("\ufeff", "").split()))
    words = match.group(1) if match else heading
    return re.sub(r"[^\w ]", "", words.casefold()).strip()


def _unit(heading: str) -> str:
    match = _HEAD.match(" ".join(heading.split()))
    return (match.group(2) or "") if match else ""
