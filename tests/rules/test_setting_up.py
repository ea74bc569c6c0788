"""The steps of setting a shop up, and what another country changes."""

from dataclasses import replace

import pytest

from app.rules import limits, presets
from app.rules.preset_change import changes
from app.rules.resolve import is_looser
from app.rules.setting_up import NEEDED_ROLES, SetupFacts, steps

READY = SetupFacts(
    True,
    True,
    frozenset(NEEDED_ROLES),
    True,
    2,
    1,
    (),
    True,
    3,
    True,
    True,
    ("English",),
    20,
    90,
    False,
    "Mona",
)


def test_a_shop_with_everything_misses_nothing() -> None:
    found = steps(READY)
    assert all(step.done and step.said and step.what for step in found)
    assert len({step.key for step in found}) == len(found) == 11
    said = {step.key: step.said for step in found}
    assert said["limits"] == "3 set by the shop" and said["wifi"] == "Accepted by Mona"
    assert {step.key: step.said for step in steps(replace(READY, own_limits=0))}["limits"].startswith(
        "As shipped"
    )
    assert {step.key: step.said for step in steps(replace(READY, encrypted=True))}["wifi"].endswith("https")


@pytest.mark.parametrize(
    ("changed", "step", "text"),
    [
        ({"priced": False}, "shop", "price"),
        ({"country_chosen": False}, "country", "country"),
        ({"roles": frozenset({"manager", "desk", "instructor", "lead"})}, "people", "health records"),
        ({"may_lead_open": False}, "people", "open water"),
        ({"devices": 0}, "devices", "paired"),
        ({"sites": 0}, "sites", "no site"),
        ({"numbers_missing": ("ambulance",)}, "emergency", "No number: ambulance."),
        ({"kit_checked": False}, "emergency", "never checked"),
        ({"sheet_printed": False}, "backup", "not printed"),
        ({"backed_up": False}, "backup", "No backup"),
        ({"cylinders": 0}, "things", "no cylinders"),
        ({"kit": 0}, "things", "no kit"),
        ({"wifi_accepted": ""}, "wifi", "open"),
    ],
)
def test_each_thing_that_is_missing_is_said_at_its_step(
    changed: dict[str, object], step: str, text: str
) -> None:
    missing = {one.key: " ".join(one.missing) for one in steps(replace(READY, **changed)) if not one.done}  # type: ignore[arg-type]
    assert set(missing) == {step} and text in missing[step]


def test_a_country_changes_what_the_shop_does_not_already_ask() -> None:
    france = changes({}, presets.GENERAL, presets.FRANCE)
    assert {one.limit.key: (one.now.number, one.then.number) for one in france}["depth_max_open_water"] == (
        12,
        6,
    )
    assert france and not any(one.looser for one in france)
    assert changes({}, presets.FRANCE, presets.FRANCE) == ()
    strict = {key: value for key, value in presets.FRANCE.values.items() if not limits.ALL[key].hard}
    left = {one.limit.key for one in changes(strict, presets.GENERAL, presets.FRANCE)}
    assert left == {"depth_max_open_water", "ratio_open_water_ceiling"}


@pytest.mark.parametrize("key", sorted(presets.ALL))
def test_the_way_back_from_a_country_is_what_it_changed_the_other_way_round(key: str) -> None:
    there = changes({}, presets.GENERAL, presets.ALL[key])
    back = changes({}, presets.ALL[key], presets.GENERAL)
    assert {one.limit.key for one in there} == {one.limit.key for one in back}
    assert all(one.looser for one in back) and not any(one.looser for one in there)
    for one in there:
        assert one.then.value is not None and one.now.value is not None
        assert is_looser(one.limit, one.now.value, one.then.value)
