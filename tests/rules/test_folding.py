"""Names as they are compared, and days as they are typed into a search."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.folding import digits_of, fold, fold_key
from app.rules.said_day import said_day

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("name", "folded"),
    [
        (" JOSÉ  ñandú ", "jose nandu"),
        ("Øyvind Þór Łukasz Æsa Weiß", "oyvind thor lukasz aesa weiss"),
        ("O'Brien O’Brien OʼBrien O`Brien", "obrien obrien obrien obrien"),
        ("Ann-Marie van-den Berg", "ann marie van den berg"),
        ("Ann–Marie Çelik İpek", "ann marie celik ipek"),
        ("محمّد عليّ", "محمد علي"),
        ("Юлия Ёлкина", "юлия елкина"),
        ("김민준", "김민준"),
        ("𝓐nna", "anna"),
        ("St. John, Jr.", "st john jr"),
        ("%_'", ""),
    ],
)
def test_names_are_folded(name: str, folded: str) -> None:
    assert fold(name) == folded


@given(st.text())
def test_folding_twice_changes_nothing_and_case_never_matters(text: str) -> None:
    once = fold(text)
    assert fold(once) == once
    assert fold(text.casefold()) == once


def test_a_name_is_found_without_its_spaces_too() -> None:
    key = fold_key("Pieter van den Berg", "Piet")
    assert all(part in key for part in ("vandenberg", "van den berg", "piet", "pietervan"))
    assert fold_key("Bo", "Bo") == "bo bo bo"


def test_phones_are_compared_by_their_digits() -> None:
    assert digits_of("+44 (0)555-0177") == "4405550177"
    assert digits_of("0044 555") == "44555" and digits_of("٠١٢") == "012" and digits_of("none") == ""


@pytest.mark.parametrize(
    ("asked", "day", "rest"),
    [
        ("24 Nov", date(2026, 11, 24), ""),
        ("24. november 2025", date(2025, 11, 24), ""),
        ("Nov 24, 2024", date(2024, 11, 24), ""),
        ("2026-11-24", date(2026, 11, 24), ""),
        ("24.11.", date(2026, 11, 24), ""),
        ("24/11/2023", date(2023, 11, 24), ""),
        ("marta 24 Nov vale", date(2026, 11, 24), "marta  vale"),
        ("3 jan", date(2027, 1, 3), ""),
        ("30 jul", date(2026, 7, 30), ""),
        ("29 Feb", date(2028, 2, 29), ""),
        ("today", TODAY, ""),
        ("marta yesterday", date(2026, 11, 24), "marta"),
    ],
)
def test_days_are_understood(asked: str, day: date, rest: str) -> None:
    found, other = said_day(asked, TODAY)
    assert (found, other.split()) == (day, rest.split())


@pytest.mark.parametrize(
    "asked", ["marta", "S07", "555 0177", "31 Nov", "2026-13-01", "0.5.6", "May", "group 12"]
)
def test_what_names_no_day_stays_as_it_is(asked: str) -> None:
    assert said_day(asked, TODAY) == (None, asked)
