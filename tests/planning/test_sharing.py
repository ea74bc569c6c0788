"""Sharing gas against worked cases."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.planning import sharing
from app.planning.consumption import Sea
from app.planning.sharing import Sharing
from tests.planning.tables import DENSITY, rows


@pytest.mark.parametrize("row", rows("min_gas_worked"))
def test_worked_cases(row: dict[str, str]) -> None:
    """Worked with CoolProp 8.0.0, method common practice; tolerance 0.5 bar."""
    how = Sharing(
        int(row["divers_sharing"]),
        float(row["stress_factor"]),
        float(row["reaction_min"]),
        float(row["ascent_m_min"]),
        float(row["stop_depth_m"]),
        float(row["stop_min"]),
        float(row["residual_gauge_bar"]),
    )
    sea = Sea(float(row["water_temp_c"]), DENSITY[row["water"]], float(row["surface_bar"]))
    depth, rate = float(row["depth_m"]), float(row["rmv_each_l_min"])
    assert sharing.minutes_up(depth, how) == pytest.approx(float(row["time_to_surface_min"]), abs=0.001)
    assert sharing.sharing_bar_litres(depth, rate, how, sea) == pytest.approx(
        float(row["gas_bar_litres"]), rel=0.001
    )
    found = sharing.sharing_gauge_bar(float(row["water_capacity_l"]), depth, rate, how, sea)
    assert found == pytest.approx(float(row["min_gauge_real_bar"]), abs=0.5)


@given(st.floats(1, 20), st.floats(10, 30), st.floats(5, 18))
def test_small_cylinders_need_more_pressure(depth: float, rate: float, litres: float) -> None:
    how, sea = Sharing(2, 1.5, 1, 9, 5, 3, 10), Sea(17, 1025.5, 1.01325)
    small = sharing.sharing_gauge_bar(litres, depth, rate, how, sea)
    assert small > sharing.sharing_gauge_bar(litres + 1, depth, rate, how, sea) > 10
