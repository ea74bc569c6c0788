"""Filling: what a compressor and a cascade give, against figures computed with CoolProp 8.0.0."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.planning.cylinder import gas_mass_g
from app.planning.filling import Bank, cascade, charging_minutes, litres_to_fill
from tests.planning.tables import rows


@pytest.mark.parametrize("row", rows("cascade_worked"), ids=lambda row: row["bank_litres:gauge"])
def test_worked_cascades(row: dict[str, str]) -> None:
    """Air of Lemmon et al. 2000 (J Phys Chem Ref Data 29:331)."""
    banks = [Bank(*map(float, bank.split(":"))) for bank in row["bank_litres:gauge"].split(";")]
    litres, gauge, celsius = (float(row[key]) for key in ("cylinder_l", "cylinder_gauge_bar", "temp_c"))
    target = float(row["target_gauge_bar"])
    filled = cascade(banks, litres, gauge, target, celsius)
    assert filled.gauge_bar == pytest.approx(float(row["end_gauge_real_bar"]), abs=0.1)
    left = [float(bar) for bar in row["bank_after_gauge_bar"].split(";")]
    assert [bank.gauge_bar for bank in filled.banks] == pytest.approx(left, abs=0.1)
    assert filled.missing_litres == pytest.approx(float(row["litres_left_for_compressor"]), abs=2)
    whole = litres_to_fill(litres, gauge, target, celsius)
    assert whole == pytest.approx(float(row["litres_to_target"]), rel=0.001)
    assert charging_minutes(whole, 200) == pytest.approx(float(row["min_at_200_l_min_from_start"]), abs=0.01)


def test_charging_a_twelve_litre_cylinder() -> None:
    """12 L from 50 to 200 bar at 25 C: 1641 L, not the 1800 of litres times bar."""
    litres = litres_to_fill(12, 50, 200, 25)
    assert litres == pytest.approx(1641, abs=2)
    assert charging_minutes(litres, 100) == pytest.approx(16.4, abs=0.05)
    assert litres_to_fill(12, 200, 150, 25) == 0
    with pytest.raises(ValueError, match="above 0"):
        charging_minutes(litres, 0)


@given(
    st.lists(st.tuples(st.floats(5, 100), st.floats(0, 300)), min_size=1, max_size=4),
    st.floats(3, 15),
    st.floats(0, 200),
)
def test_no_gas_is_made_or_lost_and_none_flows_back(
    banks: list[tuple[float, float]], litres: float, gauge: float
) -> None:
    stored = [Bank(size, bar) for size, bar in banks]
    filled = cascade(stored, litres, gauge, 200, 20)
    before = sum(gas_mass_g(bank.litres, bank.gauge_bar, 20) for bank in stored)
    after = sum(gas_mass_g(bank.litres, bank.gauge_bar, 20) for bank in filled.banks)
    gained = gas_mass_g(litres, filled.gauge_bar, 20) - gas_mass_g(litres, gauge, 20)
    assert before - after == pytest.approx(gained, abs=1e-6 * before + 1e-6)
    assert gauge - 1e-9 <= filled.gauge_bar <= 200 + 1e-9
    for was, now in zip(stored, filled.banks, strict=True):
        assert now.gauge_bar <= was.gauge_bar + 1e-9
