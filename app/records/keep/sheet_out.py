"""Sheets that leave the shop, as CSV and as Excel: real numbers and days, and no text that a program runs."""

import csv
import io
import re
import zipfile
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from app.rules.sheet_rows import say

# What a sheet program takes for the beginning of a formula.
BEGINS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
EXCEL = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
WIDEST, NARROWEST = 40, 10
# Longer names of sheets are refused by Excel.
LONGEST_NAME = 31


def as_csv(titles: Sequence[str], rows: Sequence[Sequence[Any]]) -> bytes:
    """Return a CSV in UTF-8 with its mark, so that Excel reads its letters right."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([_harmless(title) for title in titles])
    for row in rows:
        writer.writerow([_harmless(value) if isinstance(value, str) else say(value) for value in row])
    return out.getvalue().encode("utf-8-sig")


def as_excel(name: str, titles: Sequence[str], rows: Sequence[Sequence[Any]]) -> bytes:
    """Return an Excel workbook of one sheet; texts stay texts whatever they begin with."""
    return excel_book([(name, titles, rows)])


def excel_book(sheets: Sequence[tuple[str, Sequence[str], Sequence[Sequence[Any]]]]) -> bytes:
    """Return an Excel workbook: for each sheet its name, titles and rows. Instants lose their zone there."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    for name, titles, rows in sheets:
        _fill(book.create_sheet(name[:LONGEST_NAME]), titles, rows)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def csv_folder(tables: Sequence[tuple[str, Sequence[str], Sequence[Sequence[Any]]]]) -> bytes:
    """Return a zip with one CSV for each table, named after it."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as folder:
        for name, titles, rows in tables:
            folder.writestr(f"{name.replace(' ', '-')}.csv", as_csv(titles, rows))
    return out.getvalue()


def _fill(sheet: Any, titles: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    for column, title in enumerate(titles, 1):
        sheet.cell(1, column, title).font = Font(bold=True)
        widest = max((len(say(row[column - 1])) for row in rows), default=0)
        width = min(WIDEST, max(NARROWEST, widest, len(title)) + 2)
        sheet.column_dimensions[get_column_letter(column)].width = width
    for number, row in enumerate(rows, 2):
        for column, value in enumerate(row, 1):
            if value is None or value == "":
                continue
            cell = sheet.cell(number, column)
            # Excel knows no zones: what is written is the shop's own clock.
            cell.value = value.replace(tzinfo=None) if isinstance(value, datetime) else value
            if isinstance(value, str):
                # As text for good, also after somebody has clicked into the cell.
                cell.data_type, cell.quotePrefix = "s", value.startswith(BEGINS_A_FORMULA)
            elif isinstance(value, datetime):
                cell.number_format = "yyyy-mm-dd hh:mm"
            elif isinstance(value, date):
                cell.number_format = "yyyy-mm-dd"
    sheet.freeze_panes = "A2"


def _harmless(text: str) -> str:
    """Return a text in which no cell begins like a formula, also where a program splits at semicolons."""
    split = re.sub(r"([;\t])(?=[=+\-@])", r"\1'", text)
    return f"'{split}" if split.startswith(BEGINS_A_FORMULA) else split
