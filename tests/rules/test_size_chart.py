"""The starting chart: every person gets a size that the shop's words know, larger people no smaller ones."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.kit import SIZES
from app.rules.size_chart import (
    BUILT_IN,
    MEASURES,
    Band,
    Told,
    chart_problems,
    first_sizes,
    sizes_to_try,
)

HEIGHTS = st.floats(90, 230)
MASSES = st.floats(18, 220)
SHOES = st.floats(20, 55)


def test_some_people_by_hand() -> None:
    assert dict(first_sizes(172, 70, 41)) == {
        "suit": "M",
        "jacket": "M",
        "boots": "41",
        "fins": "41",
        "mask": "medium",
        "regulator": "",
        "hood": "M",
        "gloves": "M",
        "belt": "",
        "torch": "",
    }
    assert first_sizes(132, 28, 34)["suit"] == "130" and first_sizes(132, 28, 34)["mask"] == "small"
    assert first_sizes(150, 70, 38.5)["suit"] == "M" and first_sizes(150, 70, 38.5)["boots"] == "39"
    assert first_sizes(205, 150, 51)["suit"] == "3XL" and first_sizes(205, 150, 51)["fins"] == "49"


@given(HEIGHTS, MASSES, SHOES)
def test_every_size_is_one_of_the_shops_words(height: float, mass: float, shoe: float) -> None:
    for kind, size in first_sizes(height, mass, shoe).items():
        assert size in SIZES[kind] or (size == "" and not SIZES[kind])


@given(HEIGHTS, MASSES, st.floats(0, 20), st.floats(0, 20))
def test_who_is_taller_and_heavier_never_gets_a_smaller_suit(
    height: float, mass: float, taller: float, heavier: float
) -> None:
    order = SIZES["suit"]
    small, large = first_sizes(height, mass, 40), first_sizes(height + taller, mass + heavier, 40)
    assert order.index(small["suit"]) <= order.index(large["suit"])


def test_the_next_size_up_is_tried_and_never_one_too_small() -> None:
    assert sizes_to_try("suit", "M") == ("M", "L")
    assert sizes_to_try("suit", "3XL") == ("3XL",)
    assert sizes_to_try("boots", "28") == ("28", "29")
    assert sizes_to_try("regulator", "") == ("",)


def test_the_built_in_chart_has_no_gap_and_no_overlap() -> None:
    assert {kind: chart_problems(kind, bands) for kind, bands in BUILT_IN.items()} == {
        kind: {} for kind in BUILT_IN
    }


@pytest.mark.parametrize(
    ("bands", "sentence"),
    [
        (((90, 170, "S"), (172, 230, "M")), "No size from 170 cm to 172 cm, between S and M."),
        (((90, 170, "S"), (168, 230, "M")), "S and M both cover 168 cm to 170 cm."),
        (((100, 170, "S"), (170, 230, "M")), "No size from 90 cm to 100 cm, below S."),
        (((90, 170, "S"), (170, 220, "M")), "No size from 220 cm to 230 cm, above M."),
        (((90, 170, "M"), (170, 230, "S")), "S is for larger guests than M, but is the smaller size."),
        (((170, 90, "S"), (170, 230, "M")), "S goes from 170 cm to 90 cm. Write the smaller one first."),
        (((90, 170, "S"), (170, 230, "S")), "S is for larger guests than S, but is the smaller size."),
    ],
)
def test_what_is_wrong_with_a_chart_is_named(
    bands: tuple[tuple[float, float, str], ...], sentence: str
) -> None:
    rows = tuple(Band(*band) for band in bands)
    assert chart_problems("suit", {"height": rows, "weight": ()}) == {"height": sentence}


def test_a_sound_chart_of_the_shop_is_used() -> None:
    rows = (Band(90, 171.5, "S"), Band(171.5, 230, "M"))
    assert chart_problems("suit", {"height": rows, "weight": ()}) == {}
    chart = {**BUILT_IN, "suit": {"height": rows}}
    assert first_sizes(171.5, 120, 40, chart)["suit"] == "S"
    assert first_sizes(171.6, 30, 40, chart)["suit"] == "M"
    assert first_sizes(171.5, 120, 40, chart)["jacket"] == "3XL"


@given(HEIGHTS, MASSES, SHOES)
def test_a_chart_without_problems_gives_everybody_one_of_its_sizes(
    height: float, mass: float, shoe: float
) -> None:
    for kind, size in first_sizes(height, mass, shoe).items():
        for measure, value in (("height", height), ("weight", mass), ("shoe", shoe)):
            rows = BUILT_IN.get(kind, {}).get(measure, ())
            low = MEASURES[measure].lowest
            inside = [band for band in rows if band.low < value <= band.high or value == band.low == low]
            assert len(inside) == (1 if rows else 0)
            assert all(SIZES[kind].index(band.size) <= SIZES[kind].index(size) for band in inside)


def test_what_was_told_at_the_mirror_leads_to_the_next_size() -> None:
    assert sizes_to_try("suit", "M", [Told("M", "too small")]) == ("L", "XL")
    assert sizes_to_try("suit", "M", [Told("M", "too large")]) == ("S",)
    assert sizes_to_try("suit", "M", [Told("L", "fits")]) == ("L", "XL")
    assert sizes_to_try("suit", "M", [Told("M", "too small"), Told("M", "fits")]) == ("M", "L")
    assert sizes_to_try("suit", "M", [Told("M", "too small"), Told("L", "too large")]) == ()
    assert sizes_to_try("boots", "41", [Told("41", "too small"), Told("42", "too small")]) == ("43", "44")
