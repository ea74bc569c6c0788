"""Incidents the program writes itself, from the dive's own figures."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from app.rules import limits
from app.rules.gas import Reading
from app.rules.incidents import (
    CATEGORIES,
    FIGURES,
    PHASES,
    SEVERITIES,
    DiveRecord,
    DiverRecord,
    found_by_program,
    is_serious,
)
from tests.rules_world import GENERAL, NOW

READINGS = (
    Reading(200, NOW),
    Reading(120, NOW + timedelta(minutes=10)),
    Reading(80, NOW + timedelta(minutes=30)),
)
DIVER = DiverRecord("Guest 1", 80.0, 70.0, READINGS)
DIVE = DiveRecord("open", 9.0, 9.0, "slower", (), 0, False, (DIVER,))
ROSE = replace(DIVER, readings=(*READINGS[:2], Reading(130, NOW + timedelta(minutes=20)), READINGS[2]))


def test_a_dive_inside_its_plan_makes_no_incident() -> None:
    assert found_by_program(DIVE, GENERAL) == []


@pytest.mark.parametrize(
    ("changes", "rule", "severity", "who"),
    [
        ({"greatest_depth_m": 9.1}, "plan_current", "near-miss", ""),
        ({"greatest_depth_m": 10.1}, "depth_plan_default", "minor", ""),
        ({"greatest_depth_m": 12.5}, "depth_plan_default", "minor", ""),
        (
            {"where": "confined", "planned_depth_m": 4.0, "greatest_depth_m": 4.5},
            "depth_max_confined",
            "minor",
            "",
        ),
        ({"ascent": "faster"}, "ascent_rate_max", "minor", ""),
        ({"separated": ("Guest 1",)}, "separation_search", "serious", "Guest 1"),
        ({"wrong_counts": 1}, "counts_agree", "near-miss", ""),
        ({"missing": True, "wrong_counts": 2}, "missing_settled", "serious", ""),
        ({"divers": (replace(DIVER, end_bar=69.0),)}, "end_pressure_min", "near-miss", "Guest 1"),
        ({"divers": (ROSE,)}, "no_pressure_rise", "near-miss", "Guest 1"),
    ],
)
def test_each_finding_alone(changes: dict[str, Any], rule: str, severity: str, who: str) -> None:
    (draft,) = found_by_program(replace(DIVE, **changes), GENERAL)
    assert (draft.rule, draft.severity, draft.who) == (rule, severity, who)
    assert draft.rule in limits.ALL and draft.category in CATEGORIES and draft.phase in PHASES
    assert draft.severity in SEVERITIES and draft.what.endswith(".")
    # What was counted and who was missing stays so; a figure may be put right.
    assert (draft.rule in FIGURES) != (draft.rule in {"counts_agree", "missing_settled"})


def test_several_findings_are_all_written() -> None:
    bad = replace(
        DIVE,
        greatest_depth_m=11.0,
        ascent="faster",
        separated=("Guest 1", "Guest 2"),
        wrong_counts=1,
        divers=(replace(ROSE, end_bar=40.0),),
    )
    assert len(found_by_program(bad, GENERAL)) == 7


def test_a_figure_that_was_not_written_down_claims_nothing() -> None:
    blank = DiveRecord("open", None, None, None, (), 0, False, (DiverRecord("Guest 1", None, None),))
    assert found_by_program(blank, GENERAL) == []


def test_an_unknown_word_for_severity_is_read_like_a_serious_one() -> None:
    assert [is_serious(word) for word in (*SEVERITIES, "", "odd")] == [False, False, True, True, True]
