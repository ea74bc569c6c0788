"""Units: factors held to their definitions, there and back, and never rounded to the bold side."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.planning.units import (
    BASES,
    EVERY_OTHER,
    METRIC,
    UNITS,
    Units,
    Way,
    other_units,
    round_to,
    unit_typed,
)

NAMES = st.sampled_from(sorted(UNITS))
FIGURES = st.floats(min_value=-500, max_value=20_000)


def test_factors_are_those_of_the_definitions() -> None:
    pound_force_n = Decimal("0.45359237") * Decimal("9.80665")
    psi_pa = pound_force_n / Decimal("0.0254") ** 2
    assert UNITS["psi"].per_base == pytest.approx(float(Decimal(100_000) / psi_pa), rel=1e-15)
    assert UNITS["psi"].per_base == pytest.approx(14.5037738, abs=5e-8)
    assert UNITS["ft"].kept(1) == pytest.approx(0.3048, rel=1e-15)
    assert UNITS["lb"].kept(1) == pytest.approx(0.45359237, rel=1e-15)
    assert UNITS["ft³"].kept(1) == pytest.approx(28.316846592, rel=1e-15)
    assert (UNITS["°F"].read(0), UNITS["°F"].read(100), UNITS["°F"].read(-40)) == (32, 212, -40)


@given(NAMES, FIGURES)
def test_there_and_back_is_the_same_figure(name: str, value: float) -> None:
    unit = UNITS[name]
    assert unit.kept(unit.read(value)) == pytest.approx(value, rel=1e-12, abs=1e-10)


@given(NAMES, FIGURES, st.sampled_from([0.01, 0.1, 0.5, 1.0, 10.0]))
def test_rounding_keeps_to_its_side_and_within_a_step(name: str, value: float, step: float) -> None:
    unit = UNITS[name]
    exact = unit.read(value)
    hair = 1e-8 * max(1.0, abs(exact))
    down, up, near = (unit.rounded(value, way, step) for way in (Way.DOWN, Way.UP, Way.NEAR))
    assert down <= exact + hair and exact - down < step + hair
    assert up >= exact - hair and up - exact < step + hair
    assert abs(near - exact) <= step / 2 + hair
    assert down <= near <= up


@given(st.integers(0, 435))
def test_a_figure_read_on_a_step_is_shown_as_it_was_read(tens: int) -> None:
    psi = UNITS["psi"]
    kept = psi.kept(tens * 10)
    assert psi.rounded(kept, Way.DOWN) == psi.rounded(kept, Way.UP) == tens * 10


def test_a_turn_of_100_bar_is_never_shown_as_less() -> None:
    psi = UNITS["psi"]
    assert psi.rounded(100, Way.UP) == 1460 and psi.kept(1460) >= 100
    assert psi.rounded(200, Way.DOWN) == 2900 and psi.kept(2900) <= 200
    assert UNITS["ft"].rounded(10, Way.DOWN) == 32 and UNITS["ft"].rounded(10, Way.UP) == 33
    assert round_to(0.1 + 0.2, 0.1, Way.UP) == 0.3 and round_to(-0.25, 0.1, Way.DOWN) == -0.3


def test_a_person_reads_the_chosen_units_and_the_kept_ones_otherwise() -> None:
    mixed = Units.of(["psi", "°F", "bar", "furlong"])
    assert [mixed.of_base(base).name for base in BASES] == ["psi", "m", "°F", "kg", "L"]
    assert mixed.words() == "psi °F" and Units.of(mixed.words().split()) == mixed
    assert METRIC.words() == "metric" and Units.of(["metric"]) == METRIC
    assert EVERY_OTHER.words() == "psi ft °F lb ft³"
    assert [unit.name for unit in other_units("bar")] == ["psi"] and other_units("min") == ()


@pytest.mark.parametrize(
    ("typed", "base", "meant"),
    [
        ("psi", "bar", "psi"), ("PSI", "bar", "psi"), ("Bar", "bar", "bar"), ("feet", "m", "ft"),
        ("°f", "°C", "°F"), ("C", "°C", "°C"), ("lbs", "kg", "lb"), ("cu ft", "L", "ft³"), ("l", "L", "L"),
        ("psi", "m", None), ("bars", "bar", None), ("min", "min", None), ("", "bar", None),
    ],
)  # fmt: skip
def test_what_is_written_behind_a_number(typed: str, base: str, meant: str | None) -> None:
    found = unit_typed(typed, base)
    assert (found.name if found else None) == meant
