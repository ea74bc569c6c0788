"""The emergency kit before the first entry of the day."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from app.rules.emergency_gate import emergency_kit_ready, oxygen_needed
from app.rules.emergency_kit import KEYS
from app.rules.resolve import Kind, Source, limits_for, shop_source
from tests.rules_world import DAY, GENERAL, KIT, plain


def test_a_complete_kit_checked_today_is_ready() -> None:
    decision = emergency_kit_ready(KIT, GENERAL, DAY)
    assert decision.allowed and decision.notes == ()


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"checked_on": None}, "emergency_kit_check_age"),
        ({"checked_on": DAY - timedelta(days=1)}, "emergency_kit_check_age"),
        ({"checked_on": DAY + timedelta(days=1)}, "emergency_kit_check_age"),
        ({"checked_by": None}, "emergency_kit_complete"),
        ({"checked_by": ""}, "emergency_kit_complete"),
        ({"oxygen_litres": 299.0}, "oxygen_min"),
        ({"oxygen_litres": None}, "oxygen_min"),
        ({"contacts_set": False}, "emergency_contacts"),
        ({"contacts_set": None}, "emergency_contacts"),
        *(({"present": frozenset(KEYS) - {key}}, "emergency_kit_complete") for key in KEYS),
    ],
)
def test_each_reason_alone(changes: dict[str, Any], rule: str) -> None:
    decision = plain(emergency_kit_ready(replace(KIT, **changes), GENERAL, DAY))
    assert decision.rules == {rule} and len(decision.reasons) == 1


def test_unknown_kit_refuses_with_every_item() -> None:
    assert len(plain(emergency_kit_ready(None, GENERAL, DAY)).reasons) == 4 + len(KEYS)
    none_listed = replace(KIT, present=None)
    assert len(plain(emergency_kit_ready(none_listed, GENERAL, DAY)).reasons) == len(KEYS)


@pytest.mark.parametrize("last", [None, DAY - timedelta(days=91)])
def test_a_drill_long_ago_is_said(last: Any) -> None:
    decision = plain(emergency_kit_ready(replace(KIT, last_drill_on=last), GENERAL, DAY))
    assert decision.allowed and [note.rule for note in decision.notes] == ["emergency_drill_every"]


def test_oxygen_grows_with_the_way_help_has_to_come_and_never_goes_under_twenty_minutes() -> None:
    assert oxygen_needed(GENERAL).value == 300
    far = limits_for([shop_source({"help_travel_minutes": 45})])
    assert (oxygen_needed(far).value, oxygen_needed(far).bound_by) == (675, "shop")
    assert not plain(emergency_kit_ready(KIT, far, DAY)).allowed
    unknown = limits_for([Source(Kind.SITE, "site Quarry", {"help_travel_minutes": None})])
    assert oxygen_needed(unknown).value is None
