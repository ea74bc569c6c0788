"""The day's water: the worst of every reading, and no grade while one is missing."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.conditions import SEA_WORDS, Conditions, Grade, grade_of, may_dive_open, source_of
from tests.rules_world import DAY, GENERAL, GOOD_WATER, plain, unknowns


@pytest.mark.parametrize(
    ("changes", "grade"),
    [
        ({}, Grade.GOOD),
        ({"visibility_m": 8.0}, Grade.GOOD),
        ({"visibility_m": 7.9}, Grade.FAIR),
        ({"visibility_m": 5.0}, Grade.FAIR),
        ({"visibility_m": 4.9}, Grade.POOR),
        ({"visibility_m": 3.0}, Grade.POOR),
        ({"visibility_m": 2.9}, Grade.NO_GO),
        ({"current_m_s": 0.25}, Grade.GOOD),
        ({"current_m_s": 0.26}, Grade.POOR),
        ({"current_m_s": 0.5}, Grade.POOR),
        ({"current_m_s": 0.51}, Grade.NO_GO),
        ({"sea": "slight"}, Grade.FAIR),
        ({"sea": "choppy"}, Grade.POOR),
        ({"sea": "rough"}, Grade.NO_GO),
        ({"stated": Grade.FAIR}, Grade.FAIR),
        ({"visibility_m": 4.0, "stated": Grade.FAIR}, Grade.POOR),
        ({"sea": "misspelt"}, None),
        ({"visibility_m": None}, None),
        ({"current_m_s": None}, None),
        ({"sea": None}, None),
        ({"stated": None}, None),
    ],
)
def test_grade(changes: dict[str, object], grade: Grade | None) -> None:
    assert grade_of(replace(GOOD_WATER, **changes), GENERAL) is grade  # type: ignore[arg-type]


def test_good_water_today_may_be_dived() -> None:
    assert may_dive_open(GOOD_WATER, GENERAL, DAY).allowed


@pytest.mark.parametrize("forgotten", unknowns(GOOD_WATER))
def test_each_missing_reading_refuses_by_itself(forgotten: str) -> None:
    decision = plain(may_dive_open(replace(GOOD_WATER, **{forgotten: None}), GENERAL, DAY))
    assert decision.rules == {"conditions_graded"} and len(decision.reasons) == 1


def test_nothing_known_gives_every_reason() -> None:
    assert len(plain(may_dive_open(None, GENERAL, DAY)).reasons) == 6
    assert len(plain(may_dive_open(Conditions(), GENERAL, DAY)).reasons) == 6


def test_yesterdays_look_does_not_count_and_no_go_refuses() -> None:
    old = replace(GOOD_WATER, assessed_on=DAY - timedelta(days=1))
    assert not plain(may_dive_open(old, GENERAL, DAY)).allowed
    no_go = plain(may_dive_open(replace(GOOD_WATER, stated=Grade.NO_GO), GENERAL, DAY))
    assert [reason.bound_by for reason in no_go.reasons] == ["conditions no-go"]


def test_poor_water_is_said_to_take_linked_arms() -> None:
    from app.rules.resolve import limits_for

    limits = limits_for([source_of(Grade.POOR)])
    decision = plain(may_dive_open(replace(GOOD_WATER, stated=Grade.POOR), limits, DAY))
    assert decision.allowed and [note.rule for note in decision.notes] == ["linked_arms_required"]


WATER = st.builds(
    Conditions,
    st.floats(0, 30),
    st.floats(0, 2),
    st.sampled_from(sorted(SEA_WORDS)),
    st.sampled_from(Grade),
    st.just("Ilka Toft"),
    st.just(date(2026, 7, 15)),
)


@given(WATER, st.sampled_from(Grade))
def test_the_stated_grade_only_ever_makes_it_worse(water: Conditions, stated: Grade) -> None:
    without = grade_of(replace(water, stated=Grade.GOOD), GENERAL)
    with_stated = grade_of(replace(water, stated=stated), GENERAL)
    assert without is not None and with_stated == max(without, stated)
