"""Sheets as the store holds them: what was read, what it would do now, and what an export holds."""

import hashlib
import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlmodel import Session, select

from app.records.gas_room import cylinders
from app.records.keep.sheet_files import Cells
from app.records.kit_rail import kit
from app.records.store.problems import NotHere
from app.records.tables.cylinders import CylinderRow
from app.records.tables.kit import KitItemRow
from app.records.tables.sheets import SheetRow
from app.rules.sheet_kinds import cylinder_sheet, kit_sheet
from app.rules.sheet_rows import Kind, Known, Sheet, read_sheet

CYLINDERS, KIT = "cylinders", "kit"
KINDS = (CYLINDERS, KIT)


def kind_of(kind: str, today: date) -> Kind:
    """Return the columns of a kind of sheet; raises NotHere."""
    if kind == CYLINDERS:
        return cylinder_sheet(today)
    if kind == KIT:
        return kit_sheet()
    raise NotHere(f"no sheets of {kind}")


def sheet_row(session: Session, kind: str, sheet_id: int) -> SheetRow:
    """Return a sheet that was read; raises NotHere."""
    row = session.get(SheetRow, sheet_id)
    if row is None or row.kind != kind:
        raise NotHere(f"sheet {sheet_id} of {kind}")
    return row


def packed(cells: Cells) -> str:
    """Return a sheet's cells as the store keeps them."""
    return json.dumps([cells.header, cells.rows], ensure_ascii=False)


def judged(session: Session, row: SheetRow, today: date) -> Sheet:
    """Return what a sheet would do to the shop's records as they are now."""
    header, rows = json.loads(row.rows) if row.rows else ([], [])
    return read_sheet(kind_of(row.kind, today), header, rows, known(session, row.kind, today))


def fingerprint(sheet: Sheet) -> str:
    """Return a digest of all that a sheet would do: what somebody saw is what is carried out."""
    said = [
        (row.row, row.number, row.outcome, sorted(row.values.items()), row.known_id, row.changes)
        for row in sheet.rows
    ]
    return hashlib.sha256(repr(said).encode()).hexdigest()


def known(session: Session, kind: str, today: date) -> Mapping[str, Known]:
    """Return what the shop has, by number in small letters."""
    keys = [column.key for column in kind_of(kind, today).columns]
    found: dict[str, Known] = {}
    things: list[CylinderRow] | list[KitItemRow] = (
        list(session.exec(select(CylinderRow)))
        if kind == CYLINDERS
        else list(session.exec(select(KitItemRow)))
    )
    for row in things:
        values = {key: _value(getattr(row, key)) for key in keys}
        gone = isinstance(row, CylinderRow) and row.retired
        found[row.number.casefold()] = Known(row.id or 0, values, gone)
    return found


def table_of(session: Session, kind: str, today: date) -> tuple[list[str], list[list[Any]]]:
    """Return titles and rows of what the shop has, as an import reads them."""
    columns = kind_of(kind, today).columns
    things: list[Any] = (
        cylinders.in_the_shop(session) if kind == CYLINDERS else [view.row for view in kit.items(session)]
    )
    rows = [[_value(getattr(thing, column.key)) for column in columns] for thing in things]
    return [column.title for column in columns], rows


def _value(value: Any) -> Any:
    return None if value == "" else value
