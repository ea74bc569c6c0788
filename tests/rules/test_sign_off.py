"""Skills: the whole set, today, seen by a named instructor."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from app.rules import limits
from app.rules.resolve import Kind, Source, limits_for, shop_source
from app.rules.sign_off import SKILLS, Mark, SkillMark, group_may_go_open, may_go_open
from tests.rules_world import DAY, GENERAL, plain, skill_marks

ALL_SHOWN = skill_marks("g1")


def test_the_skills_are_those_of_the_limit_with_words_and_source() -> None:
    assert tuple(SKILLS) == limits.SKILLS_REQUIRED_SET.value
    assert all(skill.words and skill.source for skill in SKILLS.values())


def test_the_whole_set_shown_today_lets_a_guest_go() -> None:
    assert may_go_open("g1", "Guest 1", ALL_SHOWN, DAY, GENERAL).allowed


@pytest.mark.parametrize("skill", SKILLS)
def test_each_skill_that_was_not_shown_keeps_the_guest_in_shallow_water(skill: str) -> None:
    marks = tuple(mark for mark in ALL_SHOWN if mark.skill != skill)
    (reason,) = plain(may_go_open("g1", "Guest 1", marks, DAY, GENERAL)).reasons
    assert (reason.rule, reason.found, reason.who) == ("skills_required_set", "not seen today", "Guest 1")


@pytest.mark.parametrize(
    "changes",
    [
        {"mark": Mark.NEEDS_WORK},
        {"mark": Mark.REFUSED},
        {"mark": None},
        {"by": None},
        {"by": ""},
        {"on": None},
        {"on": DAY - timedelta(days=1)},
        {"guest_id": "g2"},
    ],
)
def test_what_does_not_count(changes: dict[str, Any]) -> None:
    marks = (replace(ALL_SHOWN[0], **changes), *ALL_SHOWN[1:])
    assert len(plain(may_go_open("g1", "Guest 1", marks, DAY, GENERAL)).reasons) == 1


def test_the_last_mark_counts_either_way() -> None:
    work = replace(ALL_SHOWN[0], mark=Mark.NEEDS_WORK)
    assert not may_go_open("g1", "Guest 1", (*ALL_SHOWN, work), DAY, GENERAL).allowed
    assert may_go_open("g1", "Guest 1", (work, *ALL_SHOWN), DAY, GENERAL).allowed
    nameless = replace(work, by=None)
    assert not may_go_open("g1", "Guest 1", (*ALL_SHOWN, nameless), DAY, GENERAL).allowed


def test_a_group_goes_when_each_guest_may() -> None:
    guests = {"g1": "Guest 1", "g2": "Guest 2"}
    assert group_may_go_open(guests, ALL_SHOWN + skill_marks("g2"), DAY, GENERAL).allowed
    held = plain(group_may_go_open(guests, ALL_SHOWN, DAY, GENERAL))
    assert {reason.who for reason in held.reasons} == {"Guest 2"}
    assert group_may_go_open(guests, iter(ALL_SHOWN + skill_marks("g2")), DAY, GENERAL).allowed


def test_a_shop_may_ask_for_more_and_a_missing_set_lets_nobody_go() -> None:
    more = limits_for([shop_source({"skills_required_set": ("float_still",)})])
    (reason,) = plain(may_go_open("g1", "Guest 1", ALL_SHOWN, DAY, more)).reasons
    assert "float still" in reason.text
    gone = limits_for([Source(Kind.SHOP, "shop", {"skills_required_set": None})])
    assert not plain(may_go_open("g1", "Guest 1", ALL_SHOWN, DAY, gone)).allowed


def test_marks_of_strange_skills_count_for_nothing() -> None:
    strange = SkillMark("g1", "somersault", Mark.SHOWN, "Ilka Toft", DAY)
    assert not may_go_open("g1", "Guest 1", (strange,), DAY, GENERAL).allowed
