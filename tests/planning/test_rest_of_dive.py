"""The rest of a dive after a gauge was read: drawn to the reading, narrower, and reckoned on from it."""

from dataclasses import replace

import pytest

from app.planning import consumption
from app.planning.breathing import Rates, predict, prior
from app.planning.consumption import Cylinder, Sea
from app.planning.diver_gas import rates_along
from app.planning.profile import cut_at, group_profile
from app.planning.rest_of_dive import MidReading, from_start, rest_of_dive

SEA = Sea(17, 1025.5, 1.01325)
PLAN = group_profile(8, 18, 9, 9, 5, 3)
BEFORE = predict(prior(), 70)


def gauge_at(rate: float, minute: float) -> float:
    """Return what the gauge of 12 L from 200 bar shows at a minute of the plan."""
    used = consumption.mass_g(cut_at(rates_along(PLAN, rate), minute), SEA)
    return consumption.gauge_after(Cylinder(12, 200), used, SEA)


@pytest.mark.parametrize("rate", [14.0, 20.0, 30.0])
def test_the_new_end_lies_near_the_truth_and_its_band_is_narrow(rate: float) -> None:
    rest = rest_of_dive(BEFORE, MidReading(200, gauge_at(rate, 10), 12, 10), PLAN, 100, 50, SEA)
    truth = gauge_at(rate, 99)
    assert rest.low_end_bar < truth < rest.high_end_bar
    assert abs(rest.expected_end_bar - truth) < 10
    whole = rest_of_dive(BEFORE, MidReading(200, gauge_at(rate, 1), 12, 1), PLAN, 100, 50, SEA)
    assert rest.high_end_bar - rest.low_end_bar < 0.5 * (whole.high_end_bar - whole.low_end_bar)


def test_who_breathes_more_turns_earlier_and_the_turn_comes_before_the_reserve() -> None:
    calm, hard = (
        rest_of_dive(BEFORE, MidReading(200, gauge_at(rate, 10), 12, 10), PLAN, 100, 50, SEA)
        for rate in (15.0, 30.0)
    )
    assert 10 < hard.turn_min < hard.likely_turn_min < calm.turn_min < calm.reserve_min
    assert hard.turn_min < hard.reserve_min


def test_under_the_turn_the_minute_is_now() -> None:
    rest = rest_of_dive(BEFORE, MidReading(200, 95, 12, 10), PLAN, 100, 50, SEA)
    assert rest.turn_min == rest.likely_turn_min == 10 < rest.reserve_min


def test_a_dive_longer_than_planned_goes_up_from_the_reading() -> None:
    late = rest_of_dive(BEFORE, MidReading(200, 90, 12, 25), PLAN, 100, 50, SEA)
    assert 60 < late.expected_end_bar < 90


def test_the_settled_rate_carries_the_turn_beyond_half_an_hour() -> None:
    rest = rest_of_dive(BEFORE, MidReading(200, 190, 12, 10), PLAN, 20, 10, SEA)
    assert rest.turn_min > 10 + 30
    slower = rest_of_dive(replace(BEFORE), MidReading(200, 190, 12, 10), PLAN, 15, 10, SEA)
    assert slower.turn_min > rest.turn_min


def test_a_reading_without_gas_used_says_nothing() -> None:
    for read in (MidReading(200, 200, 12, 10), MidReading(200, 180, 12, 0)):
        with pytest.raises(ValueError, match="uses gas"):
            rest_of_dive(Rates(21, 14, 32), read, PLAN, 100, 50, SEA)


def test_a_start_pressure_carries_what_the_profile_shows_and_less_gas_turns_earlier() -> None:
    full = from_start(Cylinder(12, 200), 36, PLAN, 100, 50, SEA)
    assert full.end_bar == pytest.approx(gauge_at(36, 99))
    # The turn comes before the way up: the profile shows the same gauge at the same minute.
    assert full.turn_min < 18 and gauge_at(36, full.turn_min) == pytest.approx(100, abs=0.1)
    less = from_start(Cylinder(12, 187), 36, PLAN, 100, 50, SEA)
    assert less.turn_min < full.turn_min < full.reserve_min and less.end_bar < full.end_bar
