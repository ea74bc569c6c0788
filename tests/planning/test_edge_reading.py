"""Fill and reading at the edge, against an air equation of its own (CoolProp 8.0.0)."""

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from app.planning.edge_reading import TWO_GAUGES_BAR, expected_at_edge, off_by_bar, reading_agrees

SURFACE = 1.01325


def closed(gauge_bar: float, from_c: float, to_c: float) -> float:
    """Return the gauge of a rigid closed cylinder at another temperature, by CoolProp."""
    held = PropsSI("D", "P", (gauge_bar + SURFACE) * 1e5, "T", from_c + 273.15, "Air")
    return float(PropsSI("P", "D", held, "T", to_c + 273.15, "Air")) / 1e5 - SURFACE


@pytest.mark.parametrize(("fill", "fill_c", "water_c", "air_c"), [(200, 35, 17, 25), (232, 50, 12, 8)])
def test_the_ends_are_a_closed_cylinder_at_the_temperatures_allowed(
    fill: float, fill_c: float, water_c: float, air_c: float
) -> None:
    """The fill 3 K off its thermometer; the edge from the cooler of air and water to 10 K of sun."""
    low, high = expected_at_edge(fill, fill_c, water_c, air_c, SURFACE)
    assert low == pytest.approx(closed(fill, fill_c + 3, min(water_c, air_c)), abs=0.5)
    assert high == pytest.approx(closed(fill, fill_c - 3, max(water_c, air_c) + 10), abs=0.5)


def test_what_is_not_measured_widens_the_band() -> None:
    measured = expected_at_edge(200, 35, 17, 25)
    no_fill_temp = expected_at_edge(200, None, 17, 25)
    no_air_temp = expected_at_edge(200, 35, 17, None)
    nothing = expected_at_edge(200, None, 17, None)
    for wider in (no_fill_temp, no_air_temp):
        assert wider[0] < measured[0] + 1e-9 and wider[1] > measured[1]
        assert nothing[0] <= wider[0] and nothing[1] >= wider[1]
    assert no_fill_temp[0] == pytest.approx(closed(200, 50, 17), abs=0.5)


def test_a_hot_two_hundred_may_read_one_hundred_and_eighty_but_not_one_hundred_and_fifty() -> None:
    low, high = expected_at_edge(200, 45, 15, 20)
    assert 170 < low < 180 < high < 200
    assert reading_agrees(low, high, 180) and reading_agrees(low, high, 165)
    assert not reading_agrees(low, high, 150)
    assert off_by_bar(low, high, 150) == pytest.approx(150 - (low - TWO_GAUGES_BAR))
    assert off_by_bar(low, high, 230) == pytest.approx(230 - (high + TWO_GAUGES_BAR))


def test_two_gauges_may_disagree_by_ten_bar() -> None:
    """3.5 bar each, nineteen of twenty times: 2 x 1.414 x 3.5."""
    assert pytest.approx(9.9, abs=0.01) == TWO_GAUGES_BAR
    assert reading_agrees(180, 190, 180 - 9.8) and reading_agrees(180, 190, 190 + 9.8)
    assert not reading_agrees(180, 190, 180 - 10) and not reading_agrees(180, 190, 190 + 10)


@given(
    st.floats(20, 300),
    st.none() | st.floats(0, 60),
    st.floats(0, 35),
    st.none() | st.floats(-5, 45),
    st.floats(0.6, 1.05),
)
def test_the_band_is_a_band_and_a_cylinder_kept_as_it_was_lies_in_it(
    fill: float, fill_c: float | None, water_c: float, air_c: float | None, surface: float
) -> None:
    low, high = expected_at_edge(fill, fill_c, water_c, air_c, surface)
    assert 0 < low < high
    if fill_c is None or fill_c == water_c:
        assert low <= fill <= high
