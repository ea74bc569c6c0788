"""Counts and their honest intervals, against scipy and against what must hold of any interval."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2, poisson

from app.planning.event_rates import at_most, count_interval, rate_per_hundred


@pytest.mark.parametrize("count", [0, 1, 2, 3, 5, 10, 47, 200, 999, 1600])
def test_the_interval_is_garwoods(count: int) -> None:
    low, high = count_interval(count)
    # Garwood's ends are quantiles of chi-square with 2 count and 2 count + 2 degrees of freedom.
    assert low == pytest.approx(chi2.ppf(0.025, 2 * count) / 2 if count else 0.0, rel=1e-6, abs=1e-12)
    assert high == pytest.approx(chi2.ppf(0.975, 2 * count + 2) / 2, rel=1e-6)


@pytest.mark.parametrize(("count", "mean"), [(0, 0.0), (0, 3.0), (4, 2.5), (700, 710.0), (2000, 1900.0)])
def test_the_chance_of_few_is_poissons(count: int, mean: float) -> None:
    assert at_most(count, mean) == pytest.approx(poisson.cdf(count, mean), rel=1e-9)


@given(st.integers(0, 400), st.integers(1, 10_000))
def test_a_rate_lies_inside_its_interval_and_more_people_make_it_smaller(count: int, people: int) -> None:
    rate, wider = rate_per_hundred(count, people), rate_per_hundred(count, people + 1)
    assert 0 <= rate.low <= rate.per_hundred <= rate.high
    assert wider.high < rate.high


@given(st.integers(0, 300))
def test_more_events_move_both_ends_up(count: int) -> None:
    now, more = count_interval(count), count_interval(count + 1)
    assert now[0] < more[0] and now[1] < more[1]


def test_what_cannot_be_counted_is_refused() -> None:
    with pytest.raises(ValueError, match="below 0"):
        count_interval(-1)
    with pytest.raises(ValueError, match="people"):
        rate_per_hundred(1, 0)
