"""Pressures: three layers of judgement, the reserve in force, and what never rises."""

from datetime import timedelta
from math import inf, nan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.gas import (
    Level,
    Reading,
    ReadingKind,
    SharingInputs,
    judge_pressure,
    may_start_at,
    next_reading_due,
    pressures_hold,
    reserve_in_force,
    sharing_inputs,
    should_turn,
)
from app.rules.resolve import Kind, Source, limits_for
from tests.rules_world import GENERAL, NOW, plain


@pytest.mark.parametrize(
    ("bar", "kind", "previous", "stamp", "level", "rule"),
    [
        (200, "start", None, 232, Level.FINE, ""),
        (0, "start", None, 232, Level.IMPOSSIBLE, "gauge_lowest_start"),
        (0, "end", 100, 232, Level.UNUSUAL, "gauge_unusual_end_below"),
        (-1, "end", 100, 232, Level.IMPOSSIBLE, "gauge_lowest_start"),
        (301, "start", None, 232, Level.IMPOSSIBLE, "gauge_highest"),
        (nan, "start", None, 232, Level.IMPOSSIBLE, "gauge_highest"),
        (inf, "start", None, None, Level.IMPOSSIBLE, "gauge_highest"),
        (240, "start", None, 232, Level.UNUSUAL, "cylinder_not_above_stamp"),
        (149, "start", None, 232, Level.UNUSUAL, "gauge_unusual_start_below"),
        (110, "turn", 100, 232, Level.UNUSUAL, "no_pressure_rise"),
        (110, "end", 100, 232, Level.UNUSUAL, "no_pressure_rise"),
        (29, "end", 100, 232, Level.UNUSUAL, "gauge_unusual_end_below"),
        (30, "end", 100, 232, Level.FINE, ""),
        (45, "turn", 200, 232, Level.UNUSUAL, "gauge_unusual_drop"),
        (200, "fill", 30, 232, Level.FINE, ""),
        (0, "drained", 200, 232, Level.FINE, ""),
        (0, "check", 200, None, Level.FINE, ""),
    ],
)
def test_judgement(
    bar: float, kind: ReadingKind, previous: float | None, stamp: float | None, level: Level, rule: str
) -> None:
    judged = judge_pressure(bar, kind, previous, stamp, GENERAL)
    assert (judged.level, judged.rule) == (level, rule)
    assert bool(judged.sentence) is (level is not Level.FINE)


def test_sentences_give_the_range_or_ask_for_a_second_look() -> None:
    assert (
        judge_pressure(0, "start", None, None, GENERAL).sentence
        == "Start pressure must be between 1 and 300 bar."
    )
    assert judge_pressure(149, "start", None, None, GENERAL).sentence == "Unusual. Check the gauge."


def test_without_a_highest_pressure_nothing_can_be_entered() -> None:
    gone = limits_for([Source(Kind.SHOP, "shop", {"gauge_highest": None})])
    assert judge_pressure(200, "start", None, 232, gone).level is Level.IMPOSSIBLE


@pytest.mark.parametrize(
    ("sharing", "reserve", "bound_by"),
    [
        (30.0, 50, "hard limit"),
        (50.0, 50, "hard limit"),
        (50.1, 60, "sharing gas"),
        (60.0, 60, "sharing gas"),
        (60.0000000001, 60, "sharing gas"),
        (68.4, 70, "sharing gas"),
        (97.8, 100, "sharing gas"),
    ],
)
def test_reserve(sharing: float, reserve: float, bound_by: str) -> None:
    found = reserve_in_force(sharing, GENERAL)
    assert (found.value, found.bound_by) == (reserve, bound_by)


def test_a_stricter_shop_reserve_binds_and_an_unknown_sharing_gas_leaves_none() -> None:
    shop = limits_for([Source(Kind.SHOP, "shop", {"end_pressure_min": 80})])
    assert (reserve_in_force(60.0, shop).value, reserve_in_force(60.0, shop).bound_by) == (80, "shop")
    assert reserve_in_force(None, GENERAL).value is None


@given(st.floats(0, 300))
def test_reserve_is_never_under_the_sharing_gas_nor_under_fifty(sharing: float) -> None:
    reserve = reserve_in_force(sharing, GENERAL).number
    assert reserve is not None and reserve >= 50 and reserve >= sharing - 1e-6 and reserve % 10 == 0


@pytest.mark.parametrize(
    ("bar", "where", "rules"),
    [
        (180, "open", set()),
        (179, "open", {"start_pressure_min"}),
        (None, "open", {"start_pressure_min", "pressure_read"}),
        (100, "confined", set()),
        (99, "confined", {"start_pressure_min_confined"}),
        (nan, "open", {"start_pressure_min"}),
    ],
)
def test_start(bar: float | None, where: Any, rules: set[str]) -> None:
    assert plain(may_start_at(bar, where, GENERAL, "Guest 1")).rules == rules


def _readings(*bars: float | None, changed_at: int | None = None) -> tuple[Reading, ...]:
    return tuple(
        Reading(bar, NOW + timedelta(minutes=place), place == changed_at) for place, bar in enumerate(bars)
    )


def test_pressures_only_fall_unless_the_cylinder_was_changed() -> None:
    assert pressures_hold(_readings(200, 150, 150, 60), "Guest 1").allowed
    assert plain(pressures_hold(_readings(200, 100, 101), "Guest 1")).rules == {"no_pressure_rise"}
    assert pressures_hold(_readings(200, 100, 190, changed_at=2), "Guest 1").allowed
    assert plain(pressures_hold(_readings(200, None, 60), "Guest 1")).rules == {"pressure_read"}
    assert pressures_hold(tuple(reversed(_readings(200, 150, 60))), "Guest 1").allowed


def test_turning_and_the_next_look() -> None:
    assert [should_turn(bar, 100) for bar in (101, 100, 99, None)] == [False, True, True, True]
    assert should_turn(200, None)
    assert next_reading_due(NOW, GENERAL) == NOW + timedelta(minutes=5)


def test_sharing_inputs_as_the_shop_has_them() -> None:
    assert sharing_inputs(GENERAL) == SharingInputs(2, 1.5, 1, 9, 5, 3, 10)
    for key in ("sharing_divers", "sharing_stress_factor", "sharing_reaction_minutes", "ascent_rate_max",
                "safety_stop_depth", "safety_stop_minutes", "sharing_residual"):  # fmt: skip
        assert sharing_inputs(limits_for([Source(Kind.SHOP, "shop", {key: None})])) is None
