"""Who may go with whom."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules import presets
from app.rules.conditions import Grade
from app.rules.groups import GroupFacts, limits_in_force, may_form, overlapping, ratio_holds, ratio_in_force
from app.rules.people import Engagement, Talk, TeachingGrade
from app.rules.plan_check import depth_in_force
from tests.rules_world import (
    ASSISTANT,
    DAY,
    END,
    GOOD_WATER,
    GUIDE,
    START,
    group,
    guest,
    limits_of,
    minor,
    plain,
)

YESTERDAY = DAY - timedelta(days=1)
BUSY = (Engagement("11:00 Bell", END - timedelta(minutes=30), END + timedelta(minutes=60)),)


def _form(facts: GroupFacts, *, at_entry: bool = True, **shop: Any) -> set[str]:
    return set(plain(may_form(facts, limits_of(facts, **shop), at_entry=at_entry)).rules)


def test_a_good_group_may_form() -> None:
    assert _form(group(guest(1), guest(2))) == set()
    assert _form(group(guest(1), guest(2), assistant=ASSISTANT)) == set()
    assert _form(group(*(guest(n) for n in range(4)), where="confined", site_depth_m=3.0)) == set()


@pytest.mark.parametrize(
    ("facts", "rule"),
    [
        (group(guest(1), guest(2), guest(3)), "ratio_open_water_good"),
        (group(guest(1), guest(1)), "guests_in_group"),
        (group(guide=None), "guide_required"),
        (group(guide=replace(GUIDE, grade=None)), "instructor_grade"),
        (group(guide=replace(GUIDE, grade=TeachingGrade.LEVEL_1)), "instructor_grade"),
        (group(guide=replace(GUIDE, grade=TeachingGrade.ASSISTANT)), "instructor_grade"),
        (group(guide=replace(GUIDE, credential_until=None)), "instructor_credential_valid"),
        (group(guide=replace(GUIDE, credential_until=YESTERDAY)), "instructor_credential_valid"),
        (group(guide=replace(GUIDE, cpr_o2_until=None)), "cpr_o2_valid"),
        (group(guide=replace(GUIDE, cpr_o2_until=YESTERDAY)), "cpr_o2_valid"),
        (group(guide=replace(GUIDE, diver_medical_until=None)), "diver_medical_valid"),
        (group(guide=replace(GUIDE, diver_medical_until=YESTERDAY)), "diver_medical_valid"),
        (group(guide=replace(GUIDE, other_groups=None)), "no_overlap"),
        (group(guide=replace(GUIDE, other_groups=BUSY)), "no_overlap"),
        (group(assistant=replace(ASSISTANT, cpr_o2_until=YESTERDAY)), "cpr_o2_valid"),
        (group(assistant=replace(ASSISTANT, other_groups=BUSY)), "no_overlap"),
        (group(assistant=replace(ASSISTANT, id="s1")), "no_overlap"),
        (group(guest(1, other_groups=BUSY)), "no_overlap"),
        (group(guest(1, other_groups=None)), "no_overlap"),
        (group(guest(1, booked=False)), "guest_booked"),
        (group(guest(1, booked=None)), "guest_booked"),
        (group(site=None), "site_known"),
        (group(site_depth_m=None), "site_known"),
        (group(guest(1, outcome="LETTER")), "screening_any_flag_blocks"),
        (group(minor(1, 12, guardian_place=None)), "guardian_near"),
        (group(minor(1, 12, guardian_consent_until=None)), "guardian_consent"),
    ],
)
def test_each_reason_alone(facts: GroupFacts, rule: str) -> None:
    assert _form(facts) == {rule}


def test_an_empty_group_and_one_too_young() -> None:
    assert _form(replace(group(), guests=())) == {"guests_in_group"}
    assert "age_min_open_water" in _form(group(minor(1, 9)))
    assert "age_min_pool" in _form(group(minor(1, 7), where="confined", site_depth_m=3.0))


def test_papers_that_end_today_still_count_and_pool_takes_level_1() -> None:
    today = replace(GUIDE, credential_until=DAY, cpr_o2_until=DAY, diver_medical_until=DAY)
    assert _form(group(guide=today)) == set()
    level_1 = replace(GUIDE, grade=TeachingGrade.LEVEL_1)
    assert _form(group(guide=level_1, where="confined", site_depth_m=3.0)) == set()


def test_holds_are_notes_at_planning_and_reasons_at_entry() -> None:
    facts = group(guest(1, outcome="TALK", outcome_word="Instructor will talk first"))
    planned = plain(may_form(facts, limits_of(facts)))
    assert planned.allowed and [note.rule for note in planned.notes] == ["screening_any_flag_blocks"]
    assert _form(facts) == {"screening_any_flag_blocks"}


@pytest.mark.parametrize(
    ("changes", "guests"),
    [
        ({}, 2),
        ({"stated": Grade.FAIR}, 2),
        ({"stated": Grade.POOR}, 1),
        ({"stated": Grade.NO_GO}, 1),
        ({"visibility_m": 4.0}, 1),
        ({"visibility_m": None}, None),
    ],
)
def test_ratio_by_conditions(changes: dict[str, Any], guests: int | None) -> None:
    facts = group(conditions=replace(GOOD_WATER, **changes))
    assert ratio_in_force(facts, limits_of(facts)).value == guests


def test_fair_water_never_holds_more_than_good_water_does() -> None:
    fair = group(conditions=replace(GOOD_WATER, stated=Grade.FAIR))
    ratio = ratio_in_force(fair, limits_of(fair, ratio_open_water_good=1))
    assert (ratio.value, ratio.key) == (1, "ratio_open_water_good")


def test_ungraded_water_holds_nobody() -> None:
    facts = group(conditions=None)
    assert not plain(ratio_holds(facts, limits_of(facts))).allowed


def test_assistant_adds_only_where_every_source_grants_it() -> None:
    facts = group(guest(1), assistant=ASSISTANT)
    assert ratio_in_force(facts, limits_of(facts)).value == 2
    assert ratio_in_force(facts, limits_of(facts, assistant_bonus=2)).value == 4
    assert ratio_in_force(group(), limits_of(group(), assistant_bonus=2)).value == 2
    fair = group(assistant=ASSISTANT, conditions=replace(GOOD_WATER, stated=Grade.FAIR))
    assert ratio_in_force(fair, limits_of(fair, assistant_bonus=2)).value == 2
    teen = group(minor(1, 16), assistant=ASSISTANT)
    assert ratio_in_force(teen, limits_of(teen, assistant_bonus=2)).value == 2
    french = limits_in_force(facts, presets.FRANCE, {"assistant_bonus": 2})
    assert ratio_in_force(facts, french).value == 1


def test_one_fewer_for_more_care_and_never_under_one() -> None:
    careful = group(guest(1, needs_more_care=True), guest(2))
    ratio = ratio_in_force(careful, limits_of(careful))
    assert ratio.value == 1 and ratio.bound_by.endswith("fewer for more care")
    unknown = group(guest(1, needs_more_care=None))
    assert ratio_in_force(unknown, limits_of(unknown)).value == 1
    poor = group(guest(1, needs_more_care=True), conditions=replace(GOOD_WATER, stated=Grade.POOR))
    assert ratio_in_force(poor, limits_of(poor)).value == 1


def test_caps_of_guide_talk_site_and_preset_bind_and_are_named() -> None:
    guide = group(guide=replace(GUIDE, depth_cap_m=7.0, max_guests=1), site_depth_m=30.0)
    limits = limits_of(guide)
    assert (depth_in_force(limits, "open").value, limits["depth_max_open_water"].bound_by) == (
        7,
        "guide's own cap",
    )
    assert ratio_in_force(guide, limits).value == 1
    talk = Talk("GO-LIMIT", "Ilka Toft", DAY, depth_cap_m=6.0, ratio_cap=1)
    told = group(guest(1, outcome="TALK", talk=talk), site_depth_m=30.0)
    limits = limits_of(told)
    assert limits["depth_max_open_water"].bound_by == "talk with Guest 1"
    assert (depth_in_force(limits, "open").value, ratio_in_force(told, limits).value) == (6, 1)
    assert limits_of(group(site_depth_m=8.0))["depth_max_open_water"].bound_by == "site Long Jetty"
    french = limits_in_force(group(), presets.FRANCE, {})
    assert depth_in_force(french, "open").value == 6


def test_groups_that_touch_do_not_overlap_unless_the_shop_wants_a_gap() -> None:
    after = (Engagement("next", END, END + timedelta(minutes=90)),)
    assert overlapping(after, START, END, 0) == ()
    assert overlapping(after, START, END, 1) == after
    assert _form(group(guide=replace(GUIDE, other_groups=after))) == set()
    assert _form(group(guide=replace(GUIDE, other_groups=after)), slot_gap=10.0) == {"no_overlap"}


GUESTS = st.builds(
    lambda number, age, care: minor(number, age, needs_more_care=care),
    st.integers(1, 10_000),
    st.integers(5, 80) | st.none(),
    st.booleans(),
)
WATERS = st.builds(
    lambda vis, current, stated: replace(GOOD_WATER, visibility_m=vis, current_m_s=current, stated=stated),
    st.floats(0, 20),
    st.floats(0, 1),
    st.sampled_from(Grade),
)
BONUS = st.integers(0, 2)


@given(st.lists(GUESTS, min_size=1, max_size=5), GUESTS, WATERS, st.booleans(), BONUS)
def test_adding_a_guest_never_turns_a_refused_ratio_into_allowed(
    guests: list[Any], more: Any, water: Any, helped: bool, bonus: int
) -> None:
    before = group(*guests, conditions=water, assistant=ASSISTANT if helped else None)
    after = replace(before, guests=(*guests, more))
    shop = {"assistant_bonus": bonus, "ratio_open_water_good": 4}
    if not ratio_holds(before, limits_of(before, **shop)).allowed:
        assert not ratio_holds(after, limits_of(after, **shop)).allowed


@given(
    st.lists(GUESTS, min_size=1, max_size=4),
    WATERS,
    st.sampled_from(Grade),
    st.integers(0, 4),
    st.integers(0, 4),
    BONUS,
)
def test_a_worse_grade_never_allows_more(
    guests: list[Any], water: Any, stated: Grade, good: int, fair: int, bonus: int
) -> None:
    shop = {"ratio_open_water_good": good, "ratio_open_water_fair": fair, "assistant_bonus": bonus}
    better = group(*guests, conditions=water, assistant=ASSISTANT)
    worse = replace(better, conditions=replace(water, stated=max(stated, water.stated)))
    first = ratio_in_force(better, limits_of(better, **shop)).number
    second = ratio_in_force(worse, limits_of(worse, **shop)).number
    assert first is None or second is None or second <= first


@given(st.permutations(range(4)))
def test_the_order_of_guests_does_not_matter(order: list[int]) -> None:
    guests = (guest(1), minor(2, 11), guest(3, needs_more_care=True), guest(4, booked=False))
    facts = group(*(guests[place] for place in order))
    decision = may_form(facts, limits_of(facts), at_entry=True)
    straight = may_form(group(*guests), limits_of(group(*guests)), at_entry=True)
    assert set(decision.reasons) == set(straight.reasons)
