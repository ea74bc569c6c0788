"""What checks in the water teach: of one guest, and slowly of a suit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.planning import weight_checks
from app.planning.weight_checks import FLOATS, LEVEL, MOST_KG, SINKS

differences = st.lists(st.floats(-8, 8), max_size=60)


@pytest.mark.parametrize(("seen", "right"), [(FLOATS, 7), (LEVEL, 6), (SINKS, 5)])
def test_one_check_moves_the_lead_by_one_kilogram(seen: str, right: float) -> None:
    assert weight_checks.right_kg(6, seen) == right
    assert weight_checks.right_kg(0, SINKS) == 0


def test_a_suit_is_believed_slowly() -> None:
    # b = 0.8 squared, w = 1.6 squared: one check counts b / (b + w) = 0.2, nine count b / (b + w / 9).
    assert weight_checks.suit_correction([]) == weight_checks.Correction(0, 0)
    assert weight_checks.suit_correction([1]).kg == pytest.approx(0.64 / (0.64 + 2.56))
    nine = weight_checks.suit_correction([1, 0, 1, 2, 1, 0, 1, 1, 2])
    assert nine.kg == pytest.approx(1 * 0.64 / (0.64 + 2.56 / 9)) and nine.checks == 9


@given(differences)
def test_a_suit_never_moves_it_by_more_than_two_kilograms_nor_past_its_own_mean(found: list[float]) -> None:
    moved = weight_checks.suit_correction(found)
    assert abs(moved.kg) <= MOST_KG == 2
    if found:
        mean = sum(found) / len(found)
        assert abs(moved.kg) <= abs(mean) + 1e-9 and moved.kg * mean >= 0


@given(st.integers(0, 20), st.floats(-3, 20))
def test_what_was_right_stays_right_when_nothing_changed(right: int, plain: float) -> None:
    assert weight_checks.for_this_dive(right, plain, plain) == right


@given(st.integers(0, 20), st.floats(-3, 20), st.floats(0, 6))
def test_it_moves_as_the_sum_moves(right: int, plain: float, more: float) -> None:
    moved = weight_checks.for_this_dive(right, plain, plain + more)
    assert abs(moved - right - more) <= 0.5 + 1e-6
    assert weight_checks.for_this_dive(right, plain + more, plain) <= right
