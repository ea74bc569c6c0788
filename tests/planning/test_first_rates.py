"""Breathing rates before anything was measured."""

import pytest

from app.planning.breathing import predict, prior
from app.planning.first_rates import staff_rates


def test_heavier_guests_are_planned_with_more_gas_and_the_cautious_end_is_the_upper_one() -> None:
    light, heavy = predict(prior(), 45), predict(prior(), 110)
    assert light.expected_l_min < heavy.expected_l_min and light.high_l_min < heavy.high_l_min
    assert light.low_l_min < light.expected_l_min < light.high_l_min
    assert predict(prior(), 72).expected_l_min == pytest.approx(21, abs=0.5)


def test_a_guides_own_rate_counts_and_is_known_better_than_no_rate() -> None:
    unknown, own = staff_rates(None), staff_rates(16)
    assert own.expected_l_min == pytest.approx(16) and unknown.expected_l_min == pytest.approx(16)
    assert own.high_l_min < unknown.high_l_min
    assert staff_rates(22).high_l_min > unknown.expected_l_min
