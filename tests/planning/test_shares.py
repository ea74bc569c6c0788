"""Shares with honest intervals, held against scipy's own Wilson interval."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from app.planning.shares import FEW, Share


@given(st.integers(1, 5000).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
def test_the_interval_is_wilsons(counted: tuple[int, int]) -> None:
    count, of = counted
    ours = Share(count, of).interval
    theirs = binomtest(count, of).proportion_ci(0.95, method="wilson")
    assert ours == pytest.approx((theirs.low, theirs.high), abs=2e-5)
    share = Share(count, of).share
    assert share is not None and ours[0] - 1e-12 <= share <= ours[1] + 1e-12


def test_of_nothing_nothing_is_known_and_a_part_is_not_more_than_the_whole() -> None:
    assert Share(0, 0).share is None and Share(0, 0).interval == (0.0, 1.0) and Share(0, 0).few
    assert not Share(3, FEW).few
    for count, of in ((2, 1), (-1, 4)):
        with pytest.raises(ValueError, match="part of its whole"):
            Share(count, of)
