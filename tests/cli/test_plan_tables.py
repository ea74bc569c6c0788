"""``daybuoy plan`` against every worked table that its answer covers, each as a case of its own.

The tables lie in tests/planning/data; their first lines name the sources. The others are held to the
functions behind the command, in tests/planning.
"""

import pytest

from app.planning.water_density import density_kg_m3
from tests.cli.plan_cases import case, plan
from tests.planning.tables import DENSITY, rows
from tests.planning.test_water import SEAS


def density_of(water: str) -> float:
    return DENSITY.get(water) or float(water)


@pytest.mark.parametrize("row", rows("consumption_worked"), ids=lambda row: row["id"])
def test_worked_dives(row: dict[str, str]) -> None:
    """Worked with CoolProp 8.0.0, checked with scipy 1.17.1: bar.L and litres 0.1 %, end pressure 0.5 bar."""
    points = [list(map(float, point.split(":"))) for point in row["profile_min:m"].split(";")]
    rates = [float(rate) for rate in row["rmv_l_min"].split(";")]
    celsius = float(row["water_temp_c"])
    answer = plan(
        case(
            water_temp_c=celsius,
            water_density_kg_m3=density_of(row["water"]),
            surface_pressure_bar=float(row["surface_bar"]),
            profile_min_m=points,
            final_ascent_starts_min=points[-2][0],
            diver={
                "cylinder_litres": float(row["water_capacity_l"]),
                "fill_gauge_bar": float(row["start_gauge_bar"]),
                "fill_temp_c": celsius,
                "rmv_l_per_min": rates[0] if len(rates) == 1 else rates,
            },
        )
    )["divers"][0]
    assert answer["start_gauge_bar_at_water_temp"] == pytest.approx(float(row["start_gauge_bar"]), abs=1e-9)
    assert answer["used_bar_litres"] == pytest.approx(float(row["used_bar_litres"]), rel=0.001)
    litres = float(row["used_litres_15C_1.01325bar"])
    assert answer["used_litres_15C_1.01325bar"] == pytest.approx(litres, rel=0.001)
    assert answer["end_gauge_bar"] == pytest.approx(float(row["end_gauge_real_bar"]), abs=0.5)


@pytest.mark.parametrize("row", rows("min_gas_worked"))
def test_worked_sharing_gas(row: dict[str, str]) -> None:
    """Worked with CoolProp 8.0.0, method common practice: 0.5 bar before rounding."""
    depth, celsius = float(row["depth_m"]), float(row["water_temp_c"])
    answer = plan(
        case(
            water_temp_c=celsius,
            water_density_kg_m3=density_of(row["water"]),
            surface_pressure_bar=float(row["surface_bar"]),
            profile_min_m=[[0, 0], [2, depth], [20, depth], [24, 0]],
            final_ascent_starts_min=20,
            share={
                "divers": int(row["divers_sharing"]),
                "stress_factor": float(row["stress_factor"]),
                "reaction_min": float(row["reaction_min"]),
                "ascent_rate_m_min": float(row["ascent_m_min"]),
                "stop_depth_m": float(row["stop_depth_m"]),
                "stop_min": float(row["stop_min"]),
                "residual_gauge_bar": float(row["residual_gauge_bar"]),
            },
            diver={
                "cylinder_litres": float(row["water_capacity_l"]),
                "fill_temp_c": celsius,
                "rmv_l_per_min": float(row["rmv_each_l_min"]),
            },
        )
    )
    assert answer["shared_ascent_min"] == pytest.approx(float(row["time_to_surface_min"]), abs=0.001)
    found = answer["divers"][0]["minimum_gas_gauge_bar_at_max_depth"]
    assert found == pytest.approx(float(row["min_gauge_real_bar"]), abs=0.5)


@pytest.mark.parametrize("row", rows("ndl_worked"))
def test_worked_no_stop_times(row: dict[str, str]) -> None:
    """ZH-L16C as in Buehlmann (from memory), worked with scipy 1.17.1, down at 18 m/min: 0.1 min or 0.1 %."""
    depth = float(row["depth_m"])
    down = depth / 18
    answer = plan(
        case(
            water_density_kg_m3=density_of(row["water"]),
            surface_pressure_bar=float(row["surface_bar"]),
            profile_min_m=[[0, 0], [down, depth], [down + 1, depth], [down + 9, 0]],
            final_ascent_starts_min=down,
            stops={"gf": float(row["gf"])},
            diver={"rmv_l_per_min": 1},
        )
    )
    left, total = answer["nostop_remaining_min_at_final_ascent"], row["nostop_min_incl_descent_18m_min"]
    if total == "unlimited":
        assert left is None and answer["nostop_limiting_compartment"] is None
    else:
        minutes = float(total)
        assert left + down == pytest.approx(minutes, abs=max(0.1, minutes / 1000))
        assert answer["nostop_limiting_compartment"] == int(row["limiting_compartment"])


@pytest.mark.parametrize("row", rows("cooling"))
def test_hot_fills_cool(row: dict[str, str]) -> None:
    """Closed rigid cylinder, computed with CoolProp 8.0.0: 0.5 bar."""
    answer = plan(
        case(
            water_temp_c=float(row["water_temp_c"]),
            diver={
                "fill_temp_c": float(row["fill_temp_c"]),
                "fill_gauge_bar": float(row["p_fill_gauge_bar"]),
            },
        )
    )
    found = answer["divers"][0]["start_gauge_bar_at_water_temp"]
    assert found == pytest.approx(float(row["p_real_gauge_bar"]), abs=0.5)


@pytest.mark.parametrize("column", ["EN13319_1019.7", "fresh_1000", *SEAS])
def test_pressure_at_depth(column: str) -> None:
    """EN 13319 and fresh 0.0005 bar; TEOS-10 (gsw 3.6.23) 0.002 bar to 12 m.

    Two cases differ by 10 L in the minute spent at depth alone: the difference is ten times the pressure.
    """
    plain = {"EN13319_1019.7": 1019.7, "fresh_1000": 1000.0}
    density = plain[column] if column in plain else density_kg_m3(*SEAS[column])
    for row in rows("depth_pressure"):
        depth = float(row["depth_m"])
        if 0 < depth <= 12:
            one, two = (
                plan(
                    case(
                        water_density_kg_m3=density,
                        profile_min_m=[[0, 0], [1, depth], [2, depth], [4, 0]],
                        final_ascent_starts_min=2,
                        diver={"rmv_l_per_min": [20, rate, 20]},
                    )
                )["divers"][0]["used_bar_litres"]
                for rate in (10, 20)
            )
            tolerance = 0.0005 if column in plain else 0.002
            assert (two - one) / 10 == pytest.approx(float(row[column]), abs=tolerance)
