"""One cell of a sheet: what is understood, what is not, and the sentence for it."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.sheet_cells import BadCell, choice_in, clean_cell, date_in, number_in, whole_in
from app.rules.sheet_kinds import cylinder_sheet, kit_sheet
from app.rules.sheet_rows import BROKEN, NEW, SAME, Known, read_sheet

TODAY = date(2026, 7, 15)


@pytest.mark.parametrize(
    ("said", "number"),
    [("11,1", 11.1), ("11.1", 11.1), ("12 L", 12), ("12l", 12), ("+12", 12), ("012", 12), ("12.0", 12)],
)
def test_numbers(said: str, number: float) -> None:
    assert number_in(said, 1, 24, "L") == number


@pytest.mark.parametrize(
    "said", ["1.234,5", "12 gal", "1e1", "=12", "12;5", "--1", "12 1", "\u0661\u0662 L2", "nan", "inf", "0x9"]
)
def test_what_is_no_number(said: str) -> None:
    with pytest.raises(BadCell):
        number_in(said, 1, 24, "L")


def test_psi_become_bar_and_nothing_else_is_turned_into_anything() -> None:
    # 3000 psi times 0.0689476 bar.
    assert number_in("3000 psi", 100, 300, "bar") == 206.8
    with pytest.raises(BadCell, match="in L, not in ft"):
        number_in("80 ft³", 1, 24, "L")
    assert whole_in("12", 1, 30, "months") == 12
    with pytest.raises(BadCell, match="whole"):
        whole_in("12.5", 1, 30, "months")


@pytest.mark.parametrize(
    ("said", "day"),
    [
        ("2026-03-04", date(2026, 3, 4)),
        ("2026-3-4", date(2026, 3, 4)),
        ("2026-03-04 00:00:00", date(2026, 3, 4)),
        ("2026-03-04T00:00:00", date(2026, 3, 4)),
        ("4.3.2026", date(2026, 3, 4)),
        ("04 03 2026", date(2026, 3, 4)),
        ("2026-03", date(2026, 3, 1)),
        ("03/2026", date(2026, 3, 1)),
        # By hand: 1 January 2026 is day 46023 of a sheet's calendar.
        ("46023", date(2026, 1, 1)),
        ("46023.0", date(2026, 1, 1)),
    ],
)
def test_days(said: str, day: date) -> None:
    assert date_in(said, TODAY) == day


@pytest.mark.parametrize(
    "said",
    ["04/03/2026", "2026-13-01", "2026-02-30", "31.4.2026", "1", "99999", "soon", "26-03-04", "2026-07-16"],
)
def test_what_is_no_day(said: str) -> None:
    with pytest.raises(BadCell):
        date_in(said, TODAY)


def test_words_are_cleaned_and_never_guessed() -> None:
    assert clean_cell("  Cafe\u0301 ") == "Café"
    assert clean_cell("'=1+1") == "=1+1" and clean_cell("'n Abend") == "'n Abend"
    for hidden in ("a\u202eb", "a\x00b", "a\x7fb", "a\nb", "a\ufffdb"):
        with pytest.raises(BadCell):
            clean_cell(hidden)
    assert choice_in("STEEL", ("steel",)) == "steel"
    with pytest.raises(BadCell, match="steel"):
        choice_in("stahl", ("steel",))


HEAD = ("number", "SIZE (l)", " Working  pressure [bar]: ", "material")


def test_headings_in_other_letters_and_brackets_and_short_rows() -> None:
    known = {"7": Known(1, {"litres": 12.0, "working_pressure_bar": 232.0, "material": "steel"})}
    rows = [(2, ("7", "12")), (3, ("8", "12", "232", "steel", "more")), (4, ("9", "12"))]
    sheet = read_sheet(cylinder_sheet(TODAY), HEAD, rows, known)
    assert [row.outcome for row in sheet.rows] == [SAME, NEW, BROKEN]
    assert {trouble.column for trouble in sheet.rows[2].troubles} == {"Working pressure (bar)", "Material"}


def test_a_test_pressure_is_held_against_what_is_known() -> None:
    known = {"7": Known(1, {"working_pressure_bar": 232.0})}
    kind = cylinder_sheet(TODAY)
    (row,) = read_sheet(kind, (*HEAD, "Test pressure"), [(2, ("7", "", "", "", "200"))], known).rows
    assert row.outcome == BROKEN and "above the working pressure" in row.troubles[0].sentence


@given(st.lists(st.lists(st.text(max_size=12), max_size=14), max_size=6))
def test_any_cells_are_judged_and_never_a_fault(rows: list[list[str]]) -> None:
    for kind in (cylinder_sheet(TODAY), kit_sheet()):
        head = [column.title for column in kind.columns]
        sheet = read_sheet(kind, head, list(enumerate(rows, 2)), {})
        assert len(sheet.rows) == len(rows)
        assert all(row.troubles for row in sheet.of(BROKEN))


@given(st.lists(st.text(max_size=20), max_size=10))
def test_any_headings_are_judged_and_never_a_fault(header: list[str]) -> None:
    sheet = read_sheet(cylinder_sheet(TODAY), header, [(2, ("1",))], {})
    assert sheet.troubles
