"""Pressure from depth against EN 13319, ISO 2533 and TEOS-10; density against EOS-80's own check values."""

import gsw
import pytest

from app.planning import water
from app.planning.water_density import FRESH, SEA, density_kg_m3
from tests.planning.tables import rows

# Columns of the table: practical salinity and Celsius of the water they were worked for.
SEAS = {
    "S35_5C": (35, 5), "S35_17C": (35, 17), "S35_29C": (35, 29),
    "Med_SP38.5_17C": (38.5, 17), "Med_SP38.5_26C": (38.5, 26),
    "RedSea_SP40.5_22C": (40.5, 22), "RedSea_SP40.5_29C": (40.5, 29), "fresh_20C_998.2": (0, 20),
}  # fmt: skip


def sea_of_teos_10(salinity: float, celsius: float, depth_m: float) -> float:
    """Return absolute pressure in bar: TEOS-10 in-situ density, summed downwards in 200 steps."""
    absolute, reference, steps = gsw.SR_from_SP(salinity), 1.01325, 200
    for _ in range(steps):
        sea_dbar = (reference - 1.01325) * 10
        rho = gsw.rho(absolute, gsw.CT_from_t(absolute, celsius, sea_dbar), sea_dbar)
        reference += rho * 9.80665 * depth_m / steps / 1e5
    return float(reference)


def test_pressure_agrees_with_the_table() -> None:
    """EN 13319 (1019.7 kg/m3) and fresh water; tolerance 0.0005 bar."""
    for row in rows("depth_pressure"):
        depth = float(row["depth_m"])
        assert water.pressure_at(depth, 1019.7) == pytest.approx(float(row["EN13319_1019.7"]), abs=0.0005)
        assert water.pressure_at(depth, 1000) == pytest.approx(float(row["fresh_1000"]), abs=0.0005)


@pytest.mark.parametrize("column", SEAS)
def test_pressure_from_salinity_and_temperature_agrees_with_the_table(column: str) -> None:
    """Worked with gsw 3.6.23 (TEOS-10) and scipy 1.17.1; tolerance 0.002 bar, and to 40 m of table."""
    here = density_kg_m3(*SEAS[column])
    for row in rows("depth_pressure"):
        depth = float(row["depth_m"])
        if depth <= 12:
            assert water.pressure_at(depth, here) == pytest.approx(float(row[column]), abs=0.002)


@pytest.mark.parametrize("salinity", [0, 5, 12, 35, 42])
@pytest.mark.parametrize("celsius", [0, 5, 17, 29, 38])
def test_density_from_salinity_agrees_with_teos_10(salinity: float, celsius: float) -> None:
    """TEOS-10 through gsw 3.6.23: 0.02 kg/m3 at the surface, 0.002 bar at 12 m."""
    absolute = gsw.SR_from_SP(salinity)
    here = density_kg_m3(salinity, celsius)
    assert here == pytest.approx(gsw.rho(absolute, gsw.CT_from_t(absolute, celsius, 0), 0), abs=0.02)
    assert water.pressure_at(12, here) == pytest.approx(sea_of_teos_10(salinity, celsius, 12), abs=0.002)


def test_density_agrees_with_the_check_values_of_its_equation() -> None:
    """UNESCO Technical Papers in Marine Science 36, from memory: 999.96675, 1027.67547, 1023.34306 kg/m3."""
    assert density_kg_m3(FRESH, 5) == pytest.approx(999.96675, abs=1e-5)
    assert density_kg_m3(SEA, 5) == pytest.approx(1027.67547, abs=1e-5)
    assert density_kg_m3(SEA, 25) == pytest.approx(1023.34306, abs=1e-5)


@pytest.mark.parametrize(("salinity", "celsius"), [(-1, 17), (43, 17), (35, -3), (35, 41)])
def test_water_the_equation_does_not_know_is_refused(salinity: float, celsius: float) -> None:
    with pytest.raises(ValueError, match="must be between"):
        density_kg_m3(salinity, celsius)


def test_ten_metres_are_one_bar_on_a_gauge() -> None:
    """EN 13319: its density is chosen so."""
    assert water.pressure_at(10, 1019.7) - water.pressure_at(0, 1019.7) == pytest.approx(1, abs=0.0001)


@pytest.mark.parametrize(
    ("metres", "hectopascal"),
    [
        (0, 1013.25),
        (250, 983.58),
        (500, 954.61),
        (1000, 898.75),
        (1500, 845.56),
        (2000, 794.95),
        (3000, 701.09),
    ],
)
def test_the_pressure_of_the_air_falls_with_height(metres: float, hectopascal: float) -> None:
    """ISO 2533, table values (from memory); tolerance 0.1 hPa."""
    assert water.surface_bar_at(metres) * 1000 == pytest.approx(hectopascal, abs=0.1)


def test_no_height_beyond_any_water_is_reckoned_with() -> None:
    for metres in (-451, 4001):
        with pytest.raises(ValueError, match="between -450 and 4000 m"):
            water.surface_bar_at(metres)
    assert water.surface_bar_at(-430) > water.STANDARD_SURFACE_BAR > water.surface_bar_at(1)
