"""The starting chart: every person gets a size that the shop's words know, larger people no smaller ones."""

from hypothesis import given
from hypothesis import strategies as st

from app.rules.kit import SIZES
from app.rules.size_chart import first_sizes, sizes_to_try

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
