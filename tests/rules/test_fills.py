"""What follows from the air of a fill."""

from datetime import date

import pytest

from app.rules import presets
from app.rules.cylinders import AirFacts
from app.rules.fills import judge_air
from app.rules.resolve import limits_for, preset_source

DAY = date(2026, 7, 15)
LIMITS = limits_for([preset_source(presets.GENERAL)])
TESTED = date(2026, 3, 1)


def test_good_air_says_nothing() -> None:
    verdict = judge_air(AirFacts(20.9, 2, TESTED), LIMITS, DAY)
    assert (verdict.bad, verdict.notes) == ((), ())


@pytest.mark.parametrize(
    ("oxygen", "co", "rule"),
    [(20.9, 5.1, "air_co_max"), (19.9, 2, "air_oxygen_min"), (22.1, 2, "air_oxygen_max")],
)
def test_measured_bad_air_sets_the_cylinders_aside(oxygen: float, co: float, rule: str) -> None:
    verdict = judge_air(AirFacts(oxygen, co, TESTED), LIMITS, DAY)
    assert [reason.rule for reason in verdict.bad] == [rule] and not verdict.notes


def test_the_edges_are_still_good_air() -> None:
    assert judge_air(AirFacts(20, 5, TESTED), LIMITS, DAY).bad == ()
    assert judge_air(AirFacts(22, 0, TESTED), LIMITS, DAY).bad == ()


@pytest.mark.parametrize("tested", [None, date(2026, 1, 14)])
def test_what_was_not_measured_or_tested_is_said(tested: date | None) -> None:
    verdict = judge_air(AirFacts(None, None, tested), LIMITS, DAY)
    assert verdict.bad == ()
    assert {reason.rule for reason in verdict.notes} >= {"air_co_max", "compressor_air_test_every"}
