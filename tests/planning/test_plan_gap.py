"""What explains the end pressure of a dive against its plan."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.planning.breathing import LoggedDive, end_at_rate
from app.planning.plan_gap import gap

PLANNED = LoggedDive(200, 0, 12, 20, 6.5, 72, water_temp_c=17, density_kg_m3=1025.5)
RATE = 20.0
EXPECTED = end_at_rate(PLANNED, RATE)


def test_a_dive_as_planned_leaves_nothing_to_explain() -> None:
    found = gap(PLANNED, replace(PLANNED, end_bar=EXPECTED), RATE)
    assert found.whole_bar == pytest.approx(0)
    assert (found.start_bar, found.depth_bar, found.minutes_bar) == (0, 0, 0)
    assert found.breathing_bar == pytest.approx(0)


def test_each_cause_alone_carries_its_own_name() -> None:
    emptier = replace(PLANNED, start_bar=190)
    found = gap(PLANNED, replace(emptier, end_bar=end_at_rate(emptier, RATE)), RATE)
    # Air resists at 200 bar: the last ten bar hold less than ten bar of the middle of the gauge.
    assert found.start_bar == pytest.approx(-8.9, abs=0.3) and found.breathing_bar == pytest.approx(0)
    longer = replace(PLANNED, minutes=25)
    found = gap(PLANNED, replace(longer, end_bar=end_at_rate(longer, RATE)), RATE)
    # Five minutes more at 20 L/min and 1.66 bar are 166 L: 14 bar in 12 L, real air a little more.
    assert found.minutes_bar == pytest.approx(-14.3, abs=0.7) and found.breathing_bar == pytest.approx(0)
    deeper = replace(PLANNED, mean_depth_m=8.5)
    assert gap(PLANNED, replace(deeper, end_bar=end_at_rate(deeper, RATE)), RATE).depth_bar == pytest.approx(
        -7.7, abs=0.5
    )
    assert gap(PLANNED, replace(PLANNED, end_bar=EXPECTED - 12), RATE).breathing_bar == pytest.approx(-12)


@given(
    st.floats(150, 230), st.floats(5, 149), st.floats(5, 35), st.floats(1, 12), st.floats(8, 40),
    st.one_of(st.none(), st.floats(0, 150)),
)  # fmt: skip
def test_the_causes_add_up_to_the_whole(
    start: float, end: float, minutes: float, depth: float, rate: float, written: float | None
) -> None:
    dived = replace(PLANNED, start_bar=start, end_bar=end, minutes=minutes, mean_depth_m=depth)
    found = gap(PLANNED, dived, rate, written)
    told = found.start_bar + found.depth_bar + found.minutes_bar + found.breathing_bar
    assert told == pytest.approx(found.whole_bar, abs=1e-9)
    if written is not None:
        assert found.whole_bar == pytest.approx(end - written)
