"""Nitrogen: the no-stop table of ZH-L16C, an independent solver, and what must hold."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from app.planning import navy_table, nitrogen, profile, water
from tests.planning.tables import DENSITY, rows


@pytest.mark.parametrize("row", rows("ndl_worked"))
def test_no_stop_minutes(row: dict[str, str]) -> None:
    """ZH-L16C as in Buehlmann (from memory), worked with scipy 1.17.1; tolerance 0.1 min or 0.1 %."""
    surface, gf = float(row["surface_bar"]), float(row["gf"])
    ambient = water.pressure_at(float(row["depth_m"]), DENSITY[row["water"]], surface)
    found = nitrogen.no_stop(nitrogen.saturated(surface), ambient, surface, gf)
    if row["nostop_min_instant_descent"] == "unlimited":
        assert found == nitrogen.NoStop(None, None)
    else:
        minutes = float(row["nostop_min_instant_descent"])
        assert found.minutes == pytest.approx(minutes, abs=max(0.1, minutes / 1000))
        assert found.compartment == int(row["limiting_compartment"])


def test_ramps_agree_with_an_independent_solver() -> None:
    """scipy 1.17.1, dP/dt = ln2 / half time * (inspired - P), along a descent and an ascent."""
    pieces = profile.segments([(0, 0), (2, 18), (20, 18), (22, 5), (25, 5), (26, 0)], 1.0)
    after = nitrogen.dive(nitrogen.saturated(1.01325), pieces, 1019.7, 1.01325)
    for index in (0, 4, 15):
        half, pressure = nitrogen.HALF_TIMES_MIN[index], nitrogen.saturated(1.01325)[index]
        for piece in pieces:

            def slope(
                t: float, p: list[float], piece: profile.Segment = piece, half: float = half
            ) -> list[float]:
                ambient = water.pressure_at(piece.depth_at(t), 1019.7)
                return [0.6931471805599453 / half * (nitrogen.inspired_bar(ambient) - p[0])]

            found = solve_ivp(slope, (piece.start_min, piece.end_min), [pressure], rtol=1e-10, atol=1e-12)
            pressure = float(found.y[0][-1])
        assert after[index] == pytest.approx(pressure, abs=1e-7)


def test_coefficients_are_the_printed_ones() -> None:
    """From memory, believed Buehlmann, Tauchmedizin, 4th ed. 1995."""
    listed = [row for row in rows("zhl16c") if row["default16"] == "yes"]
    assert [float(row["half_time_min"]) for row in listed] == list(nitrogen.HALF_TIMES_MIN)
    assert [float(row["a_bar"]) for row in listed] == list(nitrogen.A_BAR)
    assert [float(row["b"]) for row in listed] == list(nitrogen.B)


def test_a_guides_day_at_twelve_metres() -> None:
    """Five dives of 40 min with 60 min between: ZH-L16C totals, worked with scipy; navy table by look-up.

    The worked totals count the way down and up, which this test leaves out: hence 1.5 min.
    """
    tissues, totals = nitrogen.saturated(1.01325), []
    ambient = water.pressure_at(12, 1019.7)
    for _ in range(5):
        totals.append(nitrogen.no_stop(tissues, ambient, 1.01325, 1.0).minutes)
        tissues = nitrogen.stay(nitrogen.stay(tissues, ambient, 40), 1.01325, 60)
    assert totals == pytest.approx([182, 166, 162, 160, 159], abs=1.5)
    day: tuple[tuple[float, float, float], ...] = ()
    left = []
    for _ in range(5):
        left.append(navy_table.bottom_time_left(day, 12, 60))
        day = (*day, (12, 40, 60))
    assert left == [163, 126, 89, 54, 27]
    assert [dive.group for dive in navy_table.day(day[:4])] == ["E", "I", "L", "N"]


@given(st.floats(7, 30), st.floats(0.1, 10))
def test_no_stop_time_falls_with_depth(depth: float, deeper: float) -> None:
    start = nitrogen.saturated(1.01325)
    one = nitrogen.no_stop(start, water.pressure_at(depth, 1025), 1.01325, 0.85).minutes
    two = nitrogen.no_stop(start, water.pressure_at(depth + deeper, 1025), 1.01325, 0.85).minutes
    assert two is not None and (one is None or two <= one)


@given(st.floats(1, 30), st.floats(1, 120), st.floats(0, 600), st.floats(0, 600))
def test_time_at_the_surface_never_adds_nitrogen(
    depth: float, minutes: float, first: float, more: float
) -> None:
    loaded = nitrogen.stay(nitrogen.saturated(1.01325), water.pressure_at(depth, 1025), minutes)
    early = nitrogen.stay(loaded, 1.01325, first)
    late = nitrogen.stay(loaded, 1.01325, first + more)
    assert all(b <= a + 1e-12 for a, b in zip(early, late, strict=True))


def test_a_loaded_tissue_leaves_no_time() -> None:
    loaded = (4.0,) * 16
    found = nitrogen.no_stop(loaded, 2.2, 1.01325, 1.0)
    assert found.minutes == 0 and found.compartment == 16
