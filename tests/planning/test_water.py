"""Pressure from depth against EN 13319 and TEOS-10."""

import gsw
import pytest

from app.planning import water
from tests.planning.tables import rows


def test_pressure_agrees_with_the_table() -> None:
    """EN 13319 (1019.7 kg/m3) and fresh water; tolerance 0.0005 bar."""
    for row in rows("depth_pressure"):
        depth = float(row["depth_m"])
        assert water.pressure_at(depth, 1019.7) == pytest.approx(float(row["EN13319_1019.7"]), abs=0.0005)
        assert water.pressure_at(depth, 1000) == pytest.approx(float(row["fresh_1000"]), abs=0.0005)


@pytest.mark.parametrize(("celsius", "density"), [(5, 1027.68), (17, 1025.52), (29, 1022.06)])
def test_a_measured_density_agrees_with_the_sea_of_teos_10(celsius: float, density: float) -> None:
    """TEOS-10 through gsw 3.6.23: in-situ density of standard sea water; tolerance 0.002 bar to 12 m."""
    salinity = gsw.SR_from_SP(35)
    assert gsw.rho(salinity, gsw.CT_from_t(salinity, celsius, 0), 0) == pytest.approx(density, abs=0.2)
    for depth in (3, 6, 12):
        steps = 200
        reference = 1.01325
        for _ in range(steps):
            sea_dbar = (reference - 1.01325) * 10
            rho = gsw.rho(salinity, gsw.CT_from_t(salinity, celsius, sea_dbar), sea_dbar)
            reference += rho * 9.80665 * depth / steps / 1e5
        assert water.pressure_at(depth, density) == pytest.approx(reference, abs=0.002)


def test_ten_metres_are_one_bar_on_a_gauge() -> None:
    """EN 13319: its density is chosen so."""
    assert water.depth_at(2.01325, 1019.7) == pytest.approx(10.0, abs=0.001)
