"""Intervals of inspection by country, stated by hand; a cylinder away at the station is in nobody's hand."""

from datetime import date

import pytest

from app.rules import inspection as I
from app.rules import limits as L
from app.rules.cylinders import State, may_fill, may_give, may_send, state_of, usable
from tests.rules_world import DAY, START, cylinder, group, limits_of


@pytest.mark.parametrize(
    ("key", "visual", "pressure"),
    [("general", 12, 60), ("united_states", 12, 60), ("germany", None, 24), ("australia", 12, 12)],
)
def test_the_intervals_as_shipped(key: str, visual: int | None, pressure: int) -> None:
    rules = I.ALL[key]
    assert (rules.visual_months, rules.pressure_months) == (visual, pressure)
    assert rules.source and rules.doubt


def test_a_cylinders_own_rules_come_before_the_shops_and_unknown_ones_are_general() -> None:
    assert I.inspection_of("germany", "australia").key == "germany"
    assert I.inspection_of("", "australia").key == "australia"
    assert I.inspection_of("nowhere", "").key == "general"


def test_the_strictest_of_country_limit_and_cylinder_counts_and_is_named() -> None:
    limits = limits_of(group())
    assert I.pressure_interval(I.ALL["germany"], 60, limits) == I.Interval(24, "Germany")
    assert I.pressure_interval(I.ALL["germany"], 18, limits) == I.Interval(18, "this cylinder")
    general = I.pressure_interval(I.ALL["general"], None, limits)
    assert (general.months, general.bound_by) == (60, "hard limit")
    tight = limits_of(group(), **{L.CYLINDER_VISUAL_EVERY.key: 6})
    assert I.visual_interval(I.ALL["germany"], 12, tight) == I.Interval(6, "shop")


def test_a_loose_country_never_loosens() -> None:
    limits = limits_of(group())
    for rules in I.ALL.values():
        months = I.visual_interval(rules, None, limits).months
        assert months is not None and months <= 12
        months = I.pressure_interval(rules, None, limits).months
        assert months is not None and months <= 60


@pytest.mark.parametrize("station", ["Quay Works", None])
def test_away_at_the_station_it_is_not_given_filled_or_sent_again(station: str | None) -> None:
    limits = limits_of(group())
    away = cylinder(station=station)
    asked = (
        may_give(away, limits, DAY, START, START),
        usable(away, limits, DAY, "open"),
        may_fill(away, limits, DAY, 200),
        may_send(away),
    )
    for decision in asked:
        assert not decision.allowed
        assert L.CYLINDER_HERE.key in {reason.rule for reason in decision.reasons}
    assert state_of(away, limits, DAY) is State.AT_STATION
    assert state_of(cylinder(station=station, quarantined=True), limits, DAY) is State.AT_STATION


def test_one_that_is_out_is_not_sent_and_one_out_of_test_is() -> None:
    assert not may_send(cylinder(out_with="Guest 1")).allowed
    assert not may_send(cylinder(out_with=None)).allowed
    assert may_send(cylinder(last_visual=date(2020, 1, 1), quarantined=True)).allowed
