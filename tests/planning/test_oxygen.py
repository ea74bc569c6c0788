"""Partial pressures on air, and what carbon monoxide weighs at depth."""

import pytest

from app.planning import oxygen
from app.planning.water import STANDARD_SURFACE_BAR, pressure_at


@pytest.mark.parametrize(
    ("depth_m", "o2_bar", "n2_bar", "ppm", "g_l"),
    [(0, 0.212, 0.791, 5.0, 1.20), (6, 0.338, 1.260, 8.0, 1.92), (12, 0.464, 1.728, 10.9, 2.63)],
)
def test_air_at_depth(depth_m: float, o2_bar: float, n2_bar: float, ppm: float, g_l: float) -> None:
    """EN 13319 metres, dry air of the US Standard Atmosphere 1976; density by CoolProp, 20 C."""
    ambient = pressure_at(depth_m, 1019.7)
    assert oxygen.oxygen_bar(ambient) == pytest.approx(o2_bar, abs=0.0006)
    assert oxygen.nitrogen_bar(ambient) == pytest.approx(n2_bar, abs=0.0006)
    assert oxygen.acts_like_ppm(5, ambient, STANDARD_SURFACE_BAR) == pytest.approx(ppm, abs=0.06)
    assert oxygen.gas_density_g_l(ambient, 20) == pytest.approx(g_l, abs=0.016)


def test_no_surface_pressure_no_answer() -> None:
    with pytest.raises(ValueError, match="above 0"):
        oxygen.acts_like_ppm(5, 2, 0)
