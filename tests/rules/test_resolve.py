"""The strictest wins, whoever says it, and the page can name who that was."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules import limits, presets
from app.rules.limits import Value
from app.rules.resolve import (
    Kind,
    Source,
    in_force,
    is_looser,
    limits_for,
    limits_from_record,
    may_set,
    needed,
    preset_source,
    shop_source,
    show,
    strictest,
)
from tests.rules_world import GENERAL, plain

KEYS = st.sampled_from(sorted(limits.ALL))
KINDS = st.sampled_from([Kind.PRESET, Kind.SHOP, Kind.SITE, Kind.CONDITIONS, Kind.AGE, Kind.CARE, Kind.GUIDE])


def _values(key: str) -> st.SearchStrategy[Value | None]:
    direction = limits.ALL[key].direction
    if direction == "flag":
        return st.booleans() | st.none()
    if direction == "set":
        return st.sets(st.sampled_from(("mask_clear", "equalise", "x", "y"))).map(tuple) | st.none()
    return st.floats(-10, 400) | st.none()


@st.composite
def key_and_sources(draw: Any) -> tuple[str, list[Source]]:
    key = draw(KEYS)
    names = st.sampled_from(("one", "two", "three"))
    sources = st.builds(
        lambda kind, name, value: Source(kind, name, {key: value}), KINDS, names, _values(key)
    )
    return key, draw(st.lists(sources, max_size=5))


@given(key_and_sources())
def test_never_looser_than_any_voice_and_missing_is_never_overruled(case: tuple[str, list[Source]]) -> None:
    key, sources = case
    found = in_force(key, sources)
    said = [source.values[key] for source in sources]
    if None in said:
        assert found.value is None and found.required
        return
    assert found.value is not None
    for value in (*said, limits.ALL[key].outermost):
        assert value is not None and not is_looser(limits.ALL[key], found.value, value)


@given(key_and_sources(), st.randoms())
def test_order_of_voices_does_not_matter(case: tuple[str, list[Source]], random: Any) -> None:
    key, sources = case
    shuffled = list(sources)
    random.shuffle(shuffled)
    first, second = in_force(key, sources), in_force(key, shuffled)
    if isinstance(first.value, tuple) and isinstance(second.value, tuple):
        assert set(first.value) == set(second.value)
    else:
        assert (first.value, first.bound_by) == (second.value, second.bound_by)


@given(key_and_sources(), KINDS)
def test_one_more_voice_never_loosens(case: tuple[str, list[Source]], kind: Kind) -> None:
    key, sources = case
    if kind is Kind.SHOP:
        return
    before = in_force(key, sources)
    after = in_force(key, [*sources, Source(kind, "more", {key: limits.ALL[key].outermost})])
    assert (
        before.value is None
        or after.value is None
        or not is_looser(limits.ALL[key], after.value, before.value)
    )


def test_each_voice_is_named_when_it_binds() -> None:
    key = "depth_max_open_water"
    assert in_force(key, []).bound_by == "hard limit"
    assert in_force(key, [preset_source(presets.FRANCE)]).bound_by == "preset France"
    assert in_force(key, [shop_source({key: 9})]).bound_by == "shop"
    assert in_force(key, [Source(Kind.SITE, "site Quarry", {key: 7})]).bound_by == "site Quarry"
    assert in_force("depth_plan_default", []).bound_by == "shipped value"
    assert in_force("turn_pressure", [preset_source(presets.GENERAL)]).bound_by == "preset general"
    tie = [Source(Kind.GUIDE, "guide's own cap", {key: 12}), shop_source({key: 12})]
    assert in_force(key, tie).bound_by == "hard limit"


def test_shop_may_loosen_the_shipped_value_but_not_past_the_outermost() -> None:
    assert in_force("depth_plan_default", [shop_source({"depth_plan_default": 12})]).value == 12
    assert in_force("depth_plan_default", [shop_source({"depth_plan_default": 40})]).value == 12
    assert in_force("end_pressure_min", [shop_source({"end_pressure_min": 20})]).value == 50


def test_sets_are_joined_and_flags_add_up() -> None:
    more = shop_source({"skills_required_set": ("mask_clear", "float")})
    names = in_force("skills_required_set", [more]).names
    assert names is not None and names[-1] == "float" and set(names) > {"hand_signals", "mask_clear"}
    assert in_force("skills_required_set", [more]).bound_by == "several together"
    assert in_force("safety_diver_required", [preset_source(presets.UNITED_KINGDOM)]).value is True
    assert in_force("safety_diver_required", []).required is False


def test_a_figure_that_is_not_a_number_is_missing() -> None:
    for key in ("depth_max_open_water", "turn_pressure"):
        assert in_force(key, [Source(Kind.SITE, "site", {key: float("nan")})]).value is None


def test_a_misspelt_key_is_an_error_not_a_missing_rule() -> None:
    with pytest.raises(KeyError):
        in_force("turn_presure", [])
    with pytest.raises(KeyError):
        GENERAL["turn_presure"]


def test_strictest_of_two_limits_and_what_does_not_compare() -> None:
    found = strictest(GENERAL["depth_max_open_water"], GENERAL["depth_plan_default"])
    assert (found.key, found.value) == ("depth_plan_default", 10)
    with pytest.raises(ValueError, match="cannot be compared"):
        strictest(GENERAL["depth_max_open_water"], GENERAL["turn_pressure"])


def test_record_round_trip_keeps_values_and_a_later_limit_is_missing() -> None:
    record = json.loads(json.dumps(GENERAL.as_record()))
    again = limits_from_record(record)
    assert again.as_record() == GENERAL.as_record()
    assert len(again) == len(limits.ALL)
    del record["turn_pressure"]
    assert limits_from_record(record)["turn_pressure"].value is None


@pytest.mark.parametrize(
    ("key", "value", "role", "preset", "refused_by"),
    [
        ("turn_pressure", 120, "desk", presets.GENERAL, None),
        ("turn_pressure", 90, "manager", presets.GENERAL, "turn_pressure"),
        ("depth_plan_default", 12, "manager", presets.GENERAL, None),
        ("depth_plan_default", 12, "instructor", presets.GENERAL, "may_set"),
        ("depth_plan_default", 12.5, "manager", presets.GENERAL, "depth_plan_default"),
        ("depth_plan_default", 8, "manager", presets.FRANCE, "depth_plan_default"),
        ("end_pressure_min", 40, "manager", presets.GENERAL, "end_pressure_min"),
        ("surface_watch_required", False, "manager", presets.GENERAL, "surface_watch_required"),
        ("safety_diver_required", True, "desk", presets.GENERAL, None),
        ("turn_pressure", True, "manager", presets.GENERAL, "turn_pressure"),
        ("turn_pressure", float("nan"), "manager", presets.GENERAL, "turn_pressure"),
        ("turn_pressure", float("inf"), "manager", presets.GENERAL, "turn_pressure"),
        ("skills_required_set", ("mask_clear",), "manager", presets.GENERAL, "skills_required_set"),
        ("skills_required_set", 3, "manager", presets.GENERAL, "skills_required_set"),
    ],
)
def test_who_may_set_what(
    key: str, value: Value, role: str, preset: presets.Preset, refused_by: str | None
) -> None:
    decision = plain(may_set(key, value, role, preset))
    assert decision.rules == (frozenset() if refused_by is None else {refused_by})


def test_loosening_counts_from_the_value_the_shop_has() -> None:
    assert may_set("turn_pressure", 110, "desk", presets.GENERAL).allowed
    assert not may_set("turn_pressure", 110, "desk", presets.GENERAL, current=120).allowed
    assert may_set("turn_pressure", 110, "manager", presets.GENERAL, current=120).allowed


def test_values_are_shown_in_words() -> None:
    assert [show(value) for value in (None, True, False, 0.25, 12.0, ("read_gauge",))] == [
        "not known", "yes", "no", "0.25", "12", "read gauge",
    ]  # fmt: skip
    assert needed(GENERAL["depth_max_open_water"]) == "at most 12"
    assert (
        needed(in_force("turn_pressure", [Source(Kind.SITE, "site", {"turn_pressure": None})])) == "a value"
    )


def test_every_limit_is_resolved() -> None:
    assert {one.key for one in limits_for([])} == set(limits.ALL)
