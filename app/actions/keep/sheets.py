"""Sheets of cylinders or kit: kept as read, taken in when somebody has seen what they do, and sent out."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from app.actions.act import Act, Invalid
from app.actions.gas_room import cylinder_stock
from app.actions.kit_rail import kit
from app.records.keep import sheets
from app.records.keep.sheet_files import Cells
from app.records.tables.base import Row
from app.records.tables.cylinders import CylinderRow
from app.records.tables.kit import KitItemRow
from app.records.tables.sheets import SheetRow
from app.rules.sheet_rows import CHANGES, NEW

SHEET_LABELS = {"taken_at": "Taken in at", "taken_by": "Taken in by", "rows": "Rows"}
CHANGED = "The shop's records changed since you looked. Nothing was taken in: look once more."


@dataclass(frozen=True)
class TakenIn:
    """How many things a sheet added and changed."""

    added: int
    changed: int


def keep_sheet(act: Act, kind: str, cells: Cells, digest: str) -> SheetRow:
    """Keep a sheet as it was read, until somebody says that it shall be taken in; nothing else is stored."""
    row = act.add(
        SheetRow(
            kind=kind,
            rows=sheets.packed(cells),
            digest=digest,
            read_at=act.now,
            read_by_id=act.actor.person_id or 0,
            read_by=act.actor.name,
        )
    )
    act.about = ("sheet", str(row.id))
    return row


def take_in(
    act: Act, kind: str, sheet_id: int, version: int, seen: str, today: date, *, changes: bool
) -> TakenIn:
    """Take a sheet's good rows in, all in one transaction; broken ones are left out.

    seen: the fingerprint of what the page showed. changes: whether known things are changed too.
    Raises Invalid when it would do something else now, Clash when it was taken in already, NotHere.
    """
    row = sheets.sheet_row(act.session, kind, sheet_id)
    sheet = sheets.judged(act.session, row, today)
    act.edit(row, version, {"taken_at": act.now, "taken_by": act.actor.name, "rows": ""}, SHEET_LABELS)
    if sheets.fingerprint(sheet) != seen:
        raise Invalid({"form": CHANGED})
    fresh, known = sheet.of(NEW), sheet.of(CHANGES) if changes else ()
    if not fresh and not known:
        raise Invalid({"form": "There is nothing to take in. Tick the changes, or read another sheet."})
    act.session.add_all([_new(kind, one.values) for one in fresh])
    for one in known:
        thing: Row = act.get(CylinderRow if kind == sheets.CYLINDERS else KitItemRow, one.known_id)
        labels = cylinder_stock.LABELS if kind == sheets.CYLINDERS else kit.ITEM_LABELS
        act.edit(thing, None, one.values, labels)
    act.session.flush()
    act.about = ("sheet", str(sheet_id))
    act.reason = f"{len(fresh)} added, {len(known)} changed, from a sheet of {len(sheet.rows)} rows"
    return TakenIn(len(fresh), len(known))


def note_export(act: Act, kind: str, form: str, count: int, digest: str) -> None:
    """Write into the trail what leaves the shop: how many rows, in which form, and the file's digest."""
    act.about = ("export", kind)
    act.reason = f"{count} rows of {kind} as {form}, SHA-256 {digest}"


def _new(kind: str, values: Mapping[str, Any]) -> CylinderRow | KitItemRow:
    return CylinderRow(**values) if kind == sheets.CYLINDERS else KitItemRow(**values)
