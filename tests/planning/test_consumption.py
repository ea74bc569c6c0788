"""Gas along a profile, against worked cases, an independent solver and what must hold for every dive."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from app.planning import air, consumption, profile
from app.planning.consumption import Cylinder, Sea
from tests.planning.tables import DENSITY, rows

SEA = Sea(17, 1025.5, 1.01325)


@pytest.mark.parametrize("row", rows("consumption_worked"), ids=lambda row: row["id"])
def test_worked_dives(row: dict[str, str]) -> None:
    """Worked with CoolProp 8.0.0 and checked with scipy 1.17.1; bar.L 0.1 %, end pressure 0.5 bar."""
    density = DENSITY.get(row["water"]) or float(row["water"])
    sea = Sea(float(row["water_temp_c"]), density, float(row["surface_bar"]))
    points = [tuple(map(float, point.split(":"))) for point in row["profile_min:m"].split(";")]
    rates = [float(rate) for rate in row["rmv_l_min"].split(";")]
    pieces = profile.segments(points, rates[0] if len(rates) == 1 else rates)
    used = consumption.bar_litres(pieces, sea)
    assert used == pytest.approx(float(row["used_bar_litres"]), rel=0.001)
    grams = consumption.mass_g(pieces, sea)
    assert grams / air.REFERENCE_DENSITY_G_L == pytest.approx(
        float(row["used_litres_15C_1.01325bar"]), rel=0.001
    )
    own = Cylinder(float(row["water_capacity_l"]), float(row["start_gauge_bar"]))
    assert consumption.gauge_after(own, grams, sea) == pytest.approx(
        float(row["end_gauge_real_bar"]), abs=0.5
    )


def test_the_mass_on_a_ramp_is_the_integral() -> None:
    """scipy 1.17.1, adaptive quadrature."""
    piece = profile.Segment(0, 3, 0, 30, 25)
    reference, _ = quad(lambda t: 25 * air.density(SEA.pressure(10 * t), 17), 0, 3, epsabs=1e-12)
    assert consumption.piece_mass_g(piece, SEA) == pytest.approx(reference, rel=1e-9)


def test_calm_guests_stay_forty_to_sixty_minutes() -> None:
    """Common practice, no source: a calm guest on 12 L from 200 bar is 40 to 60 minutes under water.

    Around 5 m, back with 50 bar, at the 20 L/min that calm guests breathe.
    """
    own = Cylinder(12, 200)
    pieces = profile.segments([(0, 0), (0.6, 5), (90, 5)], 20.0)
    minutes = consumption.minute_at_gauge(own, pieces, 50, SEA)
    assert minutes is not None and 40 <= minutes <= 60


def test_out_of_gas_is_when_the_cylinder_meets_the_sea() -> None:
    own = Cylinder(10, 100)
    pieces = profile.segments([(0, 0), (1, 12), (60, 12), (61.4, 0)], 30.0)
    minute = consumption.out_of_gas_minute(own, pieces, SEA)
    assert minute is not None
    left = consumption.gauge_after(own, consumption.mass_g(profile.cut_at(pieces, minute), SEA), SEA)
    assert left + SEA.surface_bar == pytest.approx(SEA.pressure(12), abs=0.01)
    assert consumption.out_of_gas_minute(Cylinder(12, 230), pieces, SEA) is None or minute < 61.4


def test_a_gauge_already_there_takes_no_time() -> None:
    pieces = profile.segments([(0, 0), (1, 9), (20, 9)], 20.0)
    assert consumption.minute_at_gauge(Cylinder(12, 90), pieces, 100, SEA) == 0
    assert consumption.minute_at_gauge(Cylinder(12, 200), pieces[:1], 50, SEA) is None


depths = st.floats(0.5, 30)
minutes = st.floats(2, 60)
rates = st.floats(8, 50)


def _end(depth: float, stay: float, rate: float, start: float = 230, litres: float = 15) -> float:
    pieces = profile.segments([(0, 0), (1, depth), (1 + stay, depth)], rate)
    return consumption.gauge_after(Cylinder(litres, start), consumption.mass_g(pieces, SEA), SEA)


@given(depths, minutes, rates, st.floats(0, 5), st.sampled_from(["depth", "stay", "rate"]))
def test_more_of_anything_never_leaves_more_gas(
    depth: float, stay: float, rate: float, more: float, of: str
) -> None:
    base = {"depth": depth, "stay": stay, "rate": rate}
    bigger = {**base, of: base[of] + more}
    assert _end(**bigger) <= _end(**base) + 1e-9


@given(depths, minutes, rates, st.floats(0.05, 0.95))
def test_cutting_a_piece_in_two_changes_nothing(depth: float, stay: float, rate: float, where: float) -> None:
    whole = profile.Segment(0, stay, 0, depth, rate)
    middle = stay * where
    halves = (
        profile.Segment(0, middle, 0, whole.depth_at(middle), rate),
        profile.Segment(middle, stay, whole.depth_at(middle), depth, rate),
    )
    assert consumption.mass_g(halves, SEA) == pytest.approx(consumption.mass_g((whole,), SEA), rel=1e-9)
    assert consumption.bar_litres(halves, SEA) == pytest.approx(
        consumption.bar_litres((whole,), SEA), rel=1e-9
    )


@given(depths, minutes, rates, st.floats(60, 180))
def test_the_minute_found_is_the_minute_at_which_the_gauge_is_there(
    depth: float, stay: float, rate: float, gauge: float
) -> None:
    own = Cylinder(12, 200)
    pieces = profile.segments([(0, 0), (1, depth), (1 + stay, depth), (2 + stay, 0)], rate)
    minute = consumption.minute_at_gauge(own, pieces, gauge, SEA)
    assume(minute is not None)
    used = consumption.mass_g(profile.cut_at(pieces, minute or 0), SEA)
    assert consumption.gauge_after(own, used, SEA) == pytest.approx(gauge, abs=1e-5)
