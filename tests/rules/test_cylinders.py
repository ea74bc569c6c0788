"""A cylinder's state, and whether it may be given or filled."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from app.rules.cylinders import (
    AirFacts,
    State,
    add_months,
    air_is_good,
    may_fill,
    may_give,
    state_of,
)
from app.rules.cylinders import tests_due as due_dates
from app.rules.people import Engagement
from tests.rules_world import DAY, END, GENERAL, START, cylinder, plain

BUSY = (Engagement("10:30 Bell", START + timedelta(minutes=30), END + timedelta(minutes=30)),)
GOOD_AIR = AirFacts(20.9, 2.0, date(2026, 3, 1))


@pytest.mark.parametrize(
    ("changes", "state"),
    [
        ({}, State.FULL),
        ({"gauge_bar": 180.0}, State.FULL),
        ({"gauge_bar": 179.0}, State.PART),
        ({"gauge_bar": 50.0}, State.PART),
        ({"gauge_bar": 49.0}, State.EMPTY),
        ({"gauge_bar": None}, State.NOT_READ),
        ({"out_with": "Guest 1"}, State.IN_USE),
        ({"out_with": None}, State.IN_USE),
        ({"last_visual": None}, State.OUT_OF_TEST),
        ({"last_visual": date(2025, 7, 14)}, State.OUT_OF_TEST),
        ({"last_visual": date(2025, 7, 15)}, State.FULL),
        ({"last_pressure_test": date(2021, 7, 14)}, State.OUT_OF_TEST),
        ({"quarantined": True, "last_visual": None}, State.QUARANTINED),
        ({"quarantined": None}, State.QUARANTINED),
    ],
)
def test_state(changes: dict[str, Any], state: State) -> None:
    assert state_of(cylinder(**changes), GENERAL, DAY) is state


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"quarantined": True}, "cylinder_not_quarantined"),
        ({"quarantined": None}, "cylinder_not_quarantined"),
        ({"gas": "32 % oxygen"}, "air_only"),
        ({"gas": None}, "air_only"),
        ({"last_visual": None}, "cylinder_in_test"),
        ({"last_visual": date(2025, 7, 14)}, "cylinder_in_test"),
        ({"last_pressure_test": None}, "cylinder_in_test"),
        ({"visual_every_months": 3}, "cylinder_in_test"),
        ({"gauge_bar": 179.0}, "start_pressure_min"),
        ({"gauge_bar": 233.0}, "cylinder_not_above_stamp"),
        ({"working_pressure_bar": None}, "cylinder_not_above_stamp"),
        ({"out_with": "Guest 2"}, "cylinder_free"),
        ({"out_with": None}, "cylinder_free"),
        ({"other_groups": BUSY}, "no_overlap"),
        ({"other_groups": None}, "no_overlap"),
    ],
)
def test_each_reason_alone_keeps_a_cylinder_back(changes: dict[str, Any], rule: str) -> None:
    assert plain(may_give(cylinder(**changes), GENERAL, DAY, START, END, to="Guest 1")).rules == {rule}


def test_an_unread_cylinder_is_not_given() -> None:
    decision = plain(may_give(cylinder(gauge_bar=None), GENERAL, DAY, START, END))
    assert decision.rules == {"start_pressure_min", "cylinder_not_above_stamp"}


def test_a_good_cylinder_is_given_and_may_stay_with_the_same_person() -> None:
    assert may_give(cylinder(), GENERAL, DAY, START, END).allowed
    assert may_give(cylinder(out_with="Guest 1"), GENERAL, DAY, START, END, to="Guest 1").allowed


def test_a_test_still_counts_on_its_last_day() -> None:
    last_day = cylinder(last_visual=date(2025, 7, 15), last_pressure_test=date(2021, 7, 15))
    assert may_give(last_day, GENERAL, DAY, START, END).allowed


def test_the_pool_takes_less_pressure() -> None:
    half = cylinder(gauge_bar=100.0)
    assert may_give(half, GENERAL, DAY, START, END, "confined").allowed
    assert not may_give(half, GENERAL, DAY, START, END, "open").allowed
    assert not may_give(cylinder(gauge_bar=99.0), GENERAL, DAY, START, END, "confined").allowed


def test_a_test_due_within_sixty_days_is_a_note() -> None:
    soon = cylinder(last_visual=DAY + timedelta(days=60) - timedelta(days=365))
    decision = plain(may_give(soon, GENERAL, DAY, START, END))
    assert decision.allowed and [note.rule for note in decision.notes] == ["cylinder_test_notice"]
    later = cylinder(last_visual=DAY + timedelta(days=61) - timedelta(days=365))
    assert may_give(later, GENERAL, DAY, START, END).notes == ()


def test_the_shorter_interval_counts() -> None:
    visual, pressure = due_dates(cylinder(visual_every_months=30, pressure_test_every_months=24), GENERAL)
    assert visual.on == date(2027, 1, 10)
    assert pressure.on == date(2026, 1, 10)


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2026, 12, 1), 1, date(2027, 1, 1)),
        (date(2026, 1, 31), 60, date(2031, 1, 31)),
    ],
)
def test_months(day: date, months: int, then: date) -> None:
    assert add_months(day, months) == then


@pytest.mark.parametrize(
    ("changes", "target", "rules"),
    [
        ({"gauge_bar": None}, 232.0, set()),
        ({}, 233.0, {"cylinder_not_above_stamp"}),
        ({}, None, {"cylinder_not_above_stamp"}),
        ({"quarantined": True}, 200.0, {"cylinder_not_quarantined"}),
        ({"last_visual": None}, 200.0, {"cylinder_in_test"}),
        ({"out_with": "Guest 1"}, 200.0, {"cylinder_free"}),
        ({"gas": "32 % oxygen"}, 200.0, {"air_only"}),
    ],
)
def test_filling(changes: dict[str, Any], target: float | None, rules: set[str]) -> None:
    assert plain(may_fill(cylinder(**changes), GENERAL, DAY, target)).rules == rules


@pytest.mark.parametrize(
    ("changes", "rules"),
    [
        ({}, set()),
        ({"oxygen_percent": 19.9}, {"air_oxygen_min"}),
        ({"oxygen_percent": 22.1}, {"air_oxygen_max"}),
        ({"oxygen_percent": None}, {"air_oxygen_min", "air_oxygen_max"}),
        ({"co_ppm": 5.1}, {"air_co_max"}),
        ({"co_ppm": None}, {"air_co_max"}),
        ({"compressor_air_tested_on": None}, {"compressor_air_test_every"}),
        ({"compressor_air_tested_on": date(2026, 1, 14)}, {"compressor_air_test_every"}),
    ],
)
def test_air(changes: dict[str, Any], rules: set[str]) -> None:
    assert plain(air_is_good(replace(GOOD_AIR, **changes), GENERAL, DAY)).rules == rules
