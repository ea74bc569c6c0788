"""Reading a sheet that somebody sent: CSV or pasted cells, or Excel. Nothing in it is ever run.

What comes out is text: a header, and rows with their numbers in the sheet. Dates become 2026-03-04.
"""

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

MOST_BYTES = 2 * 1024 * 1024
MOST_ROWS = 2000
MOST_COLUMNS = 60
MOST_CELL = 2000
# An Excel file is a packed folder: what it may hold unpacked, and in how many parts.
MOST_UNPACKED = 20 * 1024 * 1024
MOST_PARTS = 200
# Rows that are looked at in all, empty ones among them.
MOST_LOOKED_AT = 5 * MOST_ROWS
ZIP, OLD_EXCEL = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
DELIMITERS = ",;\t"
ENTITIES = (b"<!DOCTYPE", b"<!ENTITY")
TOO_LONG = f"The sheet has more than {MOST_ROWS} rows. Split it."
NO_EXCEL = "This Excel file could not be read. Save it again as .xlsx or as CSV."


class NotASheet(ValueError):
    """The bytes cannot be read as a sheet; the text is a sentence for whoever sent them."""


@dataclass(frozen=True)
class Cells:
    """A sheet as text. rows: each with its number in the sheet, the header being row 1 or later."""

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def read_cells(data: bytes) -> Cells:
    """Return the cells of a CSV or .xlsx file, judged by its content; raises NotASheet."""
    if len(data) > MOST_BYTES:
        raise NotASheet(f"The sheet has more than {MOST_BYTES // (1024 * 1024)} MiB. Split it.")
    if data.startswith(ZIP):
        return _cells(_excel_rows(data))
    if data.startswith(OLD_EXCEL):
        raise NotASheet(
            "This is an old or locked Excel file. Save it as .xlsx without a password, or as CSV."
        )
    return read_text(_text(data))


def read_text(text: str) -> Cells:
    """Return the cells of pasted or decoded text: commas, semicolons or tabs between them."""
    if "\x00" in text:
        raise NotASheet("This is no CSV or Excel sheet. Choose another file.")
    text = text.lstrip("\ufeff")
    said, _, rest = text.partition("\n")
    told = said.strip().casefold()
    # Some programs say in a first line what stands between the cells.
    skipped = 1 if told.startswith("sep=") and len(told) == len("sep=") + 1 else 0
    if skipped:
        text = rest
    between = told[-1] if skipped else _between(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=between, strict=True)
    return _cells(_numbered(reader, 1 + skipped))


def _numbered(reader: Any, first: int) -> Iterator[tuple[int, list[str]]]:
    try:
        yield from enumerate(reader, first)
    except csv.Error:
        raise NotASheet("A quote mark in the sheet is opened and not closed. Save it again as CSV.") from None


def _text(data: bytes) -> str:
    marked = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    for code in ("utf-16",) if marked else ("utf-8-sig", "cp1252"):
        try:
            return data.decode(code)
        except UnicodeDecodeError:
            continue
    raise NotASheet("The letters of this file could not be read. Save it as CSV in UTF-8.")


def _between(text: str) -> str:
    """Return what stands between the cells of the first line that is not empty."""
    line = next((one for one in text.splitlines() if one.strip()), "")
    outside = "".join(line.split('"')[::2])
    return max(DELIMITERS, key=outside.count)


def _cells(rows: Iterable[tuple[int, list[str]]]) -> Cells:
    header: tuple[str, ...] | None = None
    kept: list[tuple[int, tuple[str, ...]]] = []
    for looked_at, (number, cells) in enumerate(rows):
        if looked_at > MOST_LOOKED_AT:
            raise NotASheet(TOO_LONG)
        if len(cells) > MOST_COLUMNS:
            raise NotASheet(f"Row {number} has more than {MOST_COLUMNS} columns. Keep those that are needed.")
        if any(len(cell) > MOST_CELL for cell in cells):
            raise NotASheet(f"A cell in row {number} is longer than {MOST_CELL} letters. Shorten it.")
        if not any(cell.strip() for cell in cells):
            continue
        if header is None:
            header = tuple(cells)
        else:
            kept.append((number, tuple(cells)))
        if len(kept) > MOST_ROWS:
            raise NotASheet(TOO_LONG)
    if header is None or not kept:
        raise NotASheet("The sheet is empty. It needs a row of headings and at least one row beneath.")
    return Cells(header, tuple(kept))


def _excel_rows(data: bytes) -> Iterator[tuple[int, list[str]]]:
    from openpyxl import load_workbook

    _check_parts(data)
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        try:
            if not book.worksheets:
                raise NotASheet(NO_EXCEL)
            rows = book.worksheets[0].iter_rows(max_col=MOST_COLUMNS, values_only=True)
            for number, cells in enumerate(rows, 1):
                yield number, _shortened([_said(cell) for cell in cells])
        finally:
            book.close()
    except NotASheet:
        raise
    except Exception as trouble:
        # The library raises whatever a broken file makes of it.
        raise NotASheet(NO_EXCEL) from trouble


def _check_parts(data: bytes) -> None:
    """Look into the packed folder before the library does: size, parts, macros, tricks of its language."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = packed.infolist()
            names = {part.filename.casefold() for part in parts}
            if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
                raise NotASheet("This Excel file is too large unpacked. Keep one sheet, or save it as CSV.")
            if any(name.endswith("vbaproject.bin") or "macrosheet" in name for name in names):
                raise NotASheet("This Excel file holds macros. Save it as .xlsx without them, or as CSV.")
            if "xl/workbook.xml" not in names:
                raise NotASheet("This is no CSV or Excel sheet. Choose another file.")
            for part in parts:
                head = packed.read(part)
                if part.filename.endswith((".xml", ".rels")) and any(one in head for one in ENTITIES):
                    raise NotASheet(NO_EXCEL)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError) as trouble:
        if isinstance(trouble, NotASheet):
            raise
        raise NotASheet(NO_EXCEL) from None


def _shortened(cells: list[str]) -> list[str]:
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _said(cell: Any) -> str:
    """Return a cell of a workbook as text: the value that it shows, never the formula behind it."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else repr(round(cell, 9))
    return str(cell)
