"""Sheets through HTTP: nothing before a person says so, broken rows named, nothing overwritten unasked."""

import csv
import io
import json
import re
import zipfile
from collections.abc import Callable
from datetime import date, datetime

import openpyxl
import pytest
from sqlmodel import select

from app.records.tables.cylinders import CylinderRow
from app.records.tables.house import TrailRow
from app.records.tables.kit import KitItemRow
from app.records.tables.sheets import SheetRow
from tests.web_world import Browser, Page, World

HEAD = ["Number", "Size (L)", "Working pressure (bar)", "Material", "Last looked inside", "Colour"]
GOOD = ["12", "232", "steel", "2026-03-04", "yellow"]
# Twenty ways to break a row: what stands in it, and what must be said of it.
BROKEN: list[tuple[list[str], str, str]] = [
    (["", *GOOD], "Number", "This is empty"),
    (["B2", "", *GOOD[1:]], "Size (L)", "This is empty"),
    (["B3", "twelve", *GOOD[1:]], "Size (L)", "Write a number in L"),
    (["B4", "80 cu ft", *GOOD[1:]], "Size (L)", "Write it in L, not in cu ft"),
    (["B5", "200", *GOOD[1:]], "Size (L)", "between 1 and 24 L"),
    (["B6", "-12", *GOOD[1:]], "Size (L)", "between 1 and 24 L"),
    (["B7", "12", "", *GOOD[2:]], "Working pressure (bar)", "This is empty"),
    (["B8", "12", "400", *GOOD[2:]], "Working pressure (bar)", "between 100 and 300 bar"),
    (["B9", "12", "=200+32", *GOOD[2:]], "Working pressure (bar)", "Write a number in bar"),
    (["B10", "12", "232", "gold", *GOOD[3:]], "Material", "Write one of: steel, aluminium"),
    (["B11", "12", "232", "", *GOOD[3:]], "Material", "This is empty"),
    (["B12", "12", "232", "steel", "04/03/2026", "x"], "Last looked inside", "2026-03-04 (year, month, day)"),
    (["B13", "12", "232", "steel", "2026-02-30", "x"], "Last looked inside", "2026-03-04 (year, month, day)"),
    (
        ["B14", "12", "232", "steel", "2026-07-16", "x"],
        "Last looked inside",
        "between 1960-01-01 and 2026-07-15",
    ),
    (["B15", "12", "232", "steel", "1959-12-31", "x"], "Last looked inside", "between 1960-01-01"),
    (["B16" * 10, *GOOD], "Number", "Shorten it to 20 letters"),
    (["B17\x7f", *GOOD], "Number", "Remove hidden control characters"),
    (["G1", *GOOD], "Number", "has this number too"),
    (["gone", *GOOD], "Number", "This number left the shop"),
    (["B20", "12;5", *GOOD[1:]], "Size (L)", "Write a number in L"),
]


def five_hundred() -> list[list[str]]:
    """Return 480 good rows with 20 broken ones among them."""
    rows = [[f"G{n}", *GOOD] for n in range(1, 481)]
    for at, (cells, _, _) in enumerate(BROKEN):
        rows.insert(20 + 24 * at, cells)
    return rows


def as_csv(rows: list[list[str]], between: str = ",", code: str = "utf-8") -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=between).writerows(rows)
    return out.getvalue().encode(code)


def as_excel(rows: list[list[str]]) -> bytes:
    """Return a workbook as a person makes it: numbers are numbers and days are days."""
    book = openpyxl.Workbook()
    for row in rows:
        cells: list[object] = []
        for text in row:
            if re.fullmatch(r"\d{1,4}", text):
                cells.append(int(text))
            elif re.fullmatch(r"20\d\d-0[1-9]-0[1-9]", text):
                cells.append(datetime.fromisoformat(text))
            else:
                cells.append(text)
        book.active.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def stored(world: World) -> list[CylinderRow]:
    with world.house.store.reading() as session:
        return list(session.exec(select(CylinderRow).order_by("id")))


def read(browser: Browser, data: bytes = b"", kind: str = "cylinders", **fields: str) -> Page:
    files = {"sheet": data} if data else {}
    return browser.open(f"/sheets/{kind}").send_files("read_sheet", files, **fields)


def table_rows(page: Page, caption: str) -> list[list[str]]:
    (table,) = [t for t in page.find("table") if caption in "".join(next(t.iter("caption")).itertext())]
    body = table.find("tbody")
    assert body is not None
    return [["".join(cell.itertext()).strip() for cell in row] for row in body]


def as_semicolons(rows: list[list[str]]) -> bytes:
    return as_csv(rows, ";", "cp1252")


def as_tabs(rows: list[list[str]]) -> bytes:
    return as_csv(rows, "\t", "utf-8-sig")


@pytest.mark.parametrize("made", [as_csv, as_semicolons, as_tabs, as_excel])
def test_five_hundred_rows_with_twenty_broken_ones(
    world: World, made: Callable[[list[list[str]]], bytes]
) -> None:
    with world.act() as act:
        act.add(CylinderRow(number="gone", litres=12, working_pressure_bar=232, retired=True))
    rows = five_hundred()
    boss = world.browser("Mona Manager")
    page = read(boss, made([HEAD, *rows]))
    assert page.status == 200 and "Nothing is taken in yet." in page.words(), page.words()[:400]
    assert len(stored(world)) == 1
    assert "Columns left aside: Colour." in page.words()
    told = table_rows(page, "Rows that cannot be taken")
    assert len({row[0] for row in told}) == 20
    for at, (cells, column, words) in enumerate(BROKEN):
        number = str(20 + 24 * at + 2)
        mine = [row for row in told if row[0] == f"Row {number}"]
        # A formula that was never worked out has no value.
        formula = made is as_excel and cells[2].startswith("=")
        sentence = "This is empty" if formula else words
        assert [row for row in mine if row[2] == column and sentence in row[3]], (number, sentence, mine)
    page = page.send("take_in_sheet")
    assert page.status == 200 and "Taken in." in page.words()
    now = stored(world)
    assert len(now) == 481 and {row.number for row in now} == {"gone", *(f"G{n}" for n in range(1, 481))}
    one = now[1]
    assert (one.number, one.litres, one.working_pressure_bar, one.last_visual) == (
        "G1",
        12,
        232,
        date(2026, 3, 4),
    )
    assert (one.visual_interval_months, one.pressure_interval_months) == (12, 60)
    with world.house.store.reading() as session:
        entry = session.exec(select(TrailRow).where(TrailRow.act == "take_in_sheet")).one()
        kept = session.exec(select(SheetRow)).one()
    assert len([one for one in json.loads(entry.changes) if one[0] == "cylinder"]) == 480
    assert entry.reason == "480 added, 0 changed, from a sheet of 500 rows"
    assert kept.rows == "" and kept.taken_by == "Mona Manager"


def test_known_numbers_are_shown_and_changed_only_with_the_tick(world: World) -> None:
    with world.act() as act:
        act.add(CylinderRow(number="7", litres=12, working_pressure_bar=232, owner="Ann"))
        act.add(CylinderRow(number="8", litres=10, working_pressure_bar=200))
    boss = world.browser("Mona Manager")
    text = (
        "Material;Owner;Working pressure (psi);No.;Size\n"
        "steel;;3364.8;7;12,0\nalu;Ben;2900;8;10\nsteel;;3300;9;15"
    )
    page = read(boss, pasted=text)
    changes = table_rows(page, "Known things that the sheet says differently")
    assert ["Row 3", "8", "Material", "steel", "aluminium"] in changes
    assert ["Row 3", "8", "Owner", "–", "Ben"] in changes
    assert ["Row 3", "8", "Working pressure (bar)", "200", "199.9"] in changes
    assert not [row for row in changes if row[1] == "7"]
    assert "Already there, the same: 1" in page.words()
    page.send("take_in_sheet")
    assert [(c.number, c.owner, c.material) for c in stored(world)] == [
        ("7", "Ann", "steel"), ("8", "", "steel"), ("9", "", "steel"),
    ]  # fmt: skip
    page = read(boss, pasted=text).send("take_in_sheet", changes="yes")
    assert page.status == 200
    row = stored(world)[1]
    assert (row.owner, row.material, row.version) == ("Ben", "aluminium", 2)


def test_records_that_changed_meanwhile_are_looked_at_again(world: World) -> None:
    with world.act() as act:
        row = act.add(CylinderRow(number="8", litres=10, working_pressure_bar=200))
        number = row.id
    boss = world.browser("Mona Manager")
    page = read(
        boss, pasted="Number,Size,Working pressure,Material,Owner\n8,10,200,steel,Ben\n9,10,200,steel,"
    )
    with world.act() as act:
        act.edit(act.get(CylinderRow, number), None, {"owner": "Cleo"}, {})
    page = page.send("take_in_sheet", changes="yes")
    assert page.status == 422 and "changed since you looked" in page.words()
    assert ["Row 2", "8", "Owner", "Cleo", "Ben"] in table_rows(page, "says differently")
    assert [c.owner for c in stored(world)] == ["Cleo"]
    page = page.send("take_in_sheet", changes="yes", seen=page.find("input", name="seen")[0].get("value", ""))
    assert page.status == 200 and [c.owner for c in stored(world)] == ["Ben", ""]


def test_taken_in_once_whoever_sends_it(world: World) -> None:
    boss = world.browser("Mona Manager")
    page = read(boss, pasted="Number,Size,Working pressure,Material\n9,10,200,steel")
    other = boss.open(page.url)
    to, pairs = page.form_fields("take_in_sheet")
    assert boss.post(to, pairs).status == 200 and boss.post(to, pairs).status == 200
    assert other.send("take_in_sheet").status == 409
    assert len(stored(world)) == 1
    assert "was taken in by Mona Manager" in boss.open(to).words()
    forged = [(name, "x" * 64 if name == "seen" else value) for name, value in pairs]
    page = read(boss, pasted="Number,Size,Working pressure,Material\n10,10,200,steel")
    to, pairs = page.form_fields("take_in_sheet")
    forged = [(name, "x" * 64 if name == "seen" else value) for name, value in pairs]
    assert boss.post(to, forged).status == 422 and len(stored(world)) == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Choose a file, or paste the cells."),
        ("Number,Size,Working pressure,Material", "The sheet is empty."),
        ('Number,Size\n"7,12', "A quote mark in the sheet is opened and not closed."),
        ("Number,Size,Working pressure,Material\n" + "7,12,232,steel\n" * 2001, "more than 2000 rows"),
        ("Number\n" + "," * 70, "more than 60 columns"),
        ("Number\n" + "x" * 2001, "longer than 2000 letters"),
    ],
)
def test_what_is_no_sheet_comes_back_with_a_sentence(world: World, text: str, words: str) -> None:
    page = read(world.browser("Mona Manager"), pasted=text)
    assert page.status == 422 and words in page.words()
    kept = "".join(page.find("textarea")[0].itertext()).strip()
    assert kept == text.strip()
    assert stored(world) == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Number,Size\n7,12", "Add a column with the heading Working pressure (bar)."),
        ("Number,No.,Size,Working pressure,Material\n7,7,12,232,steel", "This heading is there twice."),
        ("a,b\n1,2", "Add a column with the heading Number."),
    ],
)
def test_headings_are_put_right_first(world: World, text: str, words: str) -> None:
    page = read(world.browser("Mona Manager"), pasted=text)
    assert page.status == 200 and words in page.words() and not page.forms("take_in_sheet")


def zipped(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in parts.items():
            packed.writestr(name.replace("__", "/").replace("_dot_", "."), data)
    return out.getvalue()


def with_part(name: str, data: bytes) -> bytes:
    out = io.BytesIO(as_excel([HEAD, ["7", *GOOD]]))
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(name, data)
    return out.getvalue()


def swapped(part: str, change: Callable[[bytes], bytes]) -> bytes:
    """Return a good workbook with one part changed."""
    source = zipfile.ZipFile(io.BytesIO(as_excel([HEAD, ["7", *GOOD]])))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in source.namelist():
            data = source.read(name)
            packed.writestr(name, change(data) if name == part else data)
    return out.getvalue()


SHEET1 = "xl/worksheets/sheet1.xml"
LAUGHS = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]>'


def test_hostile_workbooks_are_refused_with_a_sentence(world: World) -> None:
    boss = world.browser("Mona Manager")
    far = b'<sheetData><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    for data, words in (
        (with_part("xl/media/zeros.bin", bytes(60_000_000)), "too large unpacked"),
        (with_part("xl/vbaProject.bin", b"x"), "holds macros"),
        (with_part("xl/macrosheets/sheet1.xml", b"<x/>"), "holds macros"),
        (zipped(**{f"p{n}": b"" for n in range(300)}), "too large unpacked"),
        (zipped(readme_dot_txt=b"words"), "no CSV or Excel sheet"),
        (b"PK\x03\x04 cut off", "could not be read"),
        (as_excel([HEAD, ["7", *GOOD]])[:-200], "could not be read"),
        (swapped(SHEET1, lambda data: LAUGHS + data), "could not be read"),
        (swapped(SHEET1, lambda _: b"<not xml"), "could not be read"),
        (swapped("xl/workbook.xml", lambda _: b"<workbook/>"), "could not be read"),
        (swapped(SHEET1, lambda data: data.replace(b"<sheetData>", far)), ""),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 old", "old or locked Excel file"),
        (b"\x00\x01\x02\x03", "no CSV or Excel sheet"),
        (b"%PDF-1.7\n\x00", "no CSV or Excel sheet"),
        (b"Number,Size\n\x81,1", "letters of this file could not be read"),
        (bytes(2 * 1024 * 1024 + 1), "more than 2 MiB"),
    ):
        page = read(boss, data)
        assert page.status == 422 and words in page.words(), (data[:40], page.status, page.words()[:200])
    with world.house.store.reading() as session:
        assert not list(session.exec(select(SheetRow)))
    assert read(boss, bytes(6 * 1024 * 1024)).status == 413


def test_an_excel_file_with_shown_values_days_and_a_decimal_point(world: World) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["", "", ""])
    sheet.append(["Number", "Size (L)", "Working pressure", "Material", "Last pressure test", "Last visual"])
    sheet.append([7, 11.1, 232.0, "Aluminum", 45000, date(2026, 3, 4)])
    sheet.append(["=1+1", 12, 232, "steel", None, None])
    sheet["A4"].data_type = "s"
    out = io.BytesIO()
    book.save(out)
    boss = world.browser("Mona Manager")
    page = read(boss, out.getvalue())
    assert next(row for row in table_rows(page, "What would be added") if row[0] == "Row 4")[:2] == [
        "Row 4",
        "=1+1",
    ]
    page.send("take_in_sheet")
    seven, text = stored(world)
    # Day 45000 of a sheet's calendar is 15 March 2023.
    assert (seven.number, seven.litres, seven.material) == ("7", 11.1, "aluminium")
    assert (seven.last_pressure_test, seven.last_visual) == (date(2023, 3, 15), date(2026, 3, 4))
    assert text.number == "=1+1"


def test_what_leaves_is_harmless_whole_and_in_the_trail(world: World) -> None:
    evil = ("=1+1", "+1", "-1", "@sum", "\tx", 'a"b,c')
    with world.act() as act:
        for at, words in enumerate(evil):
            act.add(
                CylinderRow(
                    number=f"N{at}", litres=11.1, working_pressure_bar=232, owner=words,
                    last_visual=date(2026, 3, 4), test_pressure_bar=348, valve="DIN 200",
                )
            )  # fmt: skip
        act.add(CylinderRow(number="gone", litres=12, working_pressure_bar=232, retired=True))
    boss = world.browser("Mona Manager")
    sent = {}
    for form in ("csv", "xlsx"):
        to, pairs = boss.open("/sheets/cylinders").form_fields("export_sheet")
        answer = boss.client.post(
            to, data=dict(pairs) | {"form": form}, headers={"Origin": "http://127.0.0.1:8000"}
        )
        assert (
            answer.status_code == 200
            and f"cylinders-2026-07-15.{form}" in answer.headers["content-disposition"]
        )
        assert answer.headers["cache-control"] == "no-store"
        sent[form] = answer.content
    rows = list(csv.DictReader(io.StringIO(sent["csv"].decode("utf-8-sig"))))
    assert [row["Owner"] for row in rows] == ["'=1+1", "'+1", "'-1", "'@sum", "'\tx", 'a"b,c']
    assert rows[0]["Size (L)"] == "11.1" and rows[0]["Last looked inside"] == "2026-03-04"
    book = openpyxl.load_workbook(io.BytesIO(sent["xlsx"]))
    cells = {cell.value: cell.column for cell in book.active[1]}
    assert list(cells) == list(rows[0])
    for at, words in enumerate(evil):
        cell = book.active.cell(at + 2, cells["Owner"])
        assert (cell.value, cell.data_type) == (words, "s"), words
    assert book.active.cell(2, cells["Size (L)"]).value == 11.1
    assert book.active.cell(2, cells["Last looked inside"]).value.date() == date(2026, 3, 4)
    with world.house.store.reading() as session:
        entries = list(session.exec(select(TrailRow).where(TrailRow.act == "export_sheet").order_by("id")))
    assert [entry.reason.partition(", SHA")[0] for entry in entries] == [
        "6 rows of cylinders as CSV", "6 rows of cylinders as Excel",
    ]  # fmt: skip
    # What left comes back as what it was: nothing to add, nothing to change. A tab in front does not live.
    with world.act() as act:
        act.edit(act.get(CylinderRow, 5), None, {"owner": "x"}, {})
    to, pairs = boss.open("/sheets/cylinders").form_fields("export_sheet")
    for form in ("csv", "xlsx"):
        to, pairs = boss.open("/sheets/cylinders").form_fields("export_sheet")
        answer = boss.client.post(
            to, data=dict(pairs) | {"form": form}, headers={"Origin": "http://127.0.0.1:8000"}
        )
        page = read(boss, answer.content)
        assert "Already there, the same: 6" in page.words(), (form, page.words())


def test_kit_from_a_sheet_and_back(world: World) -> None:
    boss = world.browser("Mona Manager")
    text = (
        "Kind\tNumber\tSize\tThickness (mm)\tService counts until\n"
        "Suits\tW01\tM\t5\t\njacket\tJ01\tl\t\t2027-01-31\nmask\tM01\tsmall\t\t\n"
        "suit\tW02\tM\t\t\njacket\tJ02\tM\t\t\nfins\tF01\t99\t\t\nwing\tX\t\t\t\nmask\tM02\tsmall\t5\t\n"
    )
    page = read(boss, kind="kit", pasted=text)
    told = table_rows(page, "Rows that cannot be taken")
    for row, column in (
        ("5", "Thickness (mm)"),
        ("6", "Service counts until"),
        ("7", "Size"),
        ("8", "Kind"),
        ("9", "Thickness (mm)"),
        ("3", "Size"),
    ):
        assert [one for one in told if one[0] == f"Row {row}" and one[2] == column], (row, told)
    page.send("take_in_sheet")
    with world.house.store.reading() as session:
        items = list(session.exec(select(KitItemRow).order_by("number")))
    assert [(one.number, one.kind, one.thickness_mm) for one in items] == [
        ("M01", "mask", None),
        ("W01", "suit", 5),
    ]
    to, pairs = boss.open("/sheets/kit").form_fields("export_sheet")
    answer = boss.client.post(
        to, data=dict(pairs) | {"form": "csv"}, headers={"Origin": "http://127.0.0.1:8000"}
    )
    assert "Already there, the same: 2" in read(boss, answer.content, kind="kit").words()


def test_who_may_and_what_is_not_here(world: World) -> None:
    boss = world.browser("Mona Manager")
    page = read(boss, pasted="Number,Size,Working pressure,Material\n9,10,200,steel")
    number = page.url.partition("?")[0].rpartition("/")[2]
    for name in ("Dora Desk", "Ines Instructor", "Lena Lead", "Kim Keeper"):
        browser = world.browser(name)
        for path in ("/sheets/cylinders", "/sheets/kit", f"/sheets/cylinders/{number}"):
            assert browser.open(path).status == 404, (name, path)
    for path in ("/sheets/guests", f"/sheets/kit/{number}", "/sheets/cylinders/999"):
        assert boss.open(path).status == 404, path
    to, pairs = boss.open("/sheets/cylinders").form_fields("export_sheet")
    assert boss.post(to, [*pairs, ("form", "pdf")]).status == 422
    assert boss.post("/sheets/guests/export", [*pairs, ("form", "csv")]).status == 404
    to, pairs = boss.open("/sheets/cylinders").form_fields("read_sheet")
    both = [(key, "Number\n1" if key == "pasted" else value) for key, value in pairs]
    page = boss.post_files(to, both, [("sheet", b"Number\n1")])
    assert page.status == 422 and "not both" in page.words()
    assert stored(world) == []
