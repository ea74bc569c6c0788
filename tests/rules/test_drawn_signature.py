"""Drawn signatures: numbers in, numbers out, nothing else."""

import pytest
from hypothesis import given
from hypothesis import strategies as some

from app.rules.drawn_signature import (
    HEIGHT,
    MOST_CHARACTERS,
    MOST_POINTS,
    MOST_STROKES,
    WIDTH,
    path_of,
    read_strokes,
    write_strokes,
)

POINT = some.tuples(some.integers(0, WIDTH), some.integers(0, HEIGHT))
STROKES = some.lists(some.lists(POINT, min_size=4, max_size=40).map(tuple), min_size=1, max_size=20).map(
    tuple
)


def test_strokes_become_a_path_of_our_own() -> None:
    strokes = read_strokes("10,20 30,40 50,60|5,5")
    assert strokes == (((10, 20), (30, 40), (50, 60)), ((5, 5),))
    assert path_of(strokes) == "M10 20L30 40L50 60M5 5h0"


def test_nothing_drawn_and_a_touch_by_accident_are_no_drawing() -> None:
    assert read_strokes("") == ()
    assert read_strokes("10,20") == ()
    assert read_strokes("10,20|11,20|12,20") == ()


@pytest.mark.parametrize(
    "said",
    [
        "10,20 30,40 50,60 70",
        "10,20  30,40 50,60 70,80",
        "-1,20 30,40 50,60 70,80",
        "1e3,20 30,40 50,60 70,80",
        "10.5,20 30,40 50,60 70,80",
        "٣,20 30,40 50,60 70,80",
        f"{WIDTH + 1},20 30,40 50,60 70,80",
        f"10,{HEIGHT + 1} 30,40 50,60 70,80",
        '<path d="M0 0"/>',
        "10,20 30,40 50,60 70,80|",
        "10,20 30,40 50,60 70,80\n",
        "|".join(["1,1"] * (MOST_STROKES + 1)),
        " ".join(["1,1"] * (MOST_POINTS + 1)),
        "1" * (MOST_CHARACTERS + 1),
    ],
)
def test_what_no_page_of_ours_sends_is_refused(said: str) -> None:
    assert read_strokes(said) is None


def test_the_bounds_themselves_are_taken() -> None:
    assert read_strokes(" ".join([f"{WIDTH},{HEIGHT}"] * MOST_POINTS)) is not None
    assert read_strokes("|".join(["0,0"] * MOST_STROKES)) is not None


@given(STROKES)
def test_what_is_kept_reads_back_as_it_was(strokes: tuple[tuple[tuple[int, int], ...], ...]) -> None:
    assert read_strokes(write_strokes(strokes)) == strokes
    assert set(path_of(strokes)) <= set("0123456789 MLh")
