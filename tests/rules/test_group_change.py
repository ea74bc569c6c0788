"""What may be changed in a group, and what a plan rests on."""

from datetime import UTC, datetime, timedelta

import pytest

from app.rules import limits as L
from app.rules.group_change import may_change_people, may_leave, may_stand_ashore
from app.rules.people import Engagement
from app.rules.plan_basis import (
    PARTS,
    USED,
    changed_parts,
    cylinder_known,
    limits_known,
    limits_used,
    second_opinion,
)
from app.rules.presets import GENERAL
from app.rules.resolve import Kind, Source, limits_for, preset_source

LIMITS = limits_for((preset_source(GENERAL),))
START = datetime(2026, 7, 15, 9, 30, tzinfo=UTC)
END = START + timedelta(minutes=90)


@pytest.mark.parametrize(
    "event, allowed", [("", True), ("never-entered", True), ("in", False), ("back", False)]
)
def test_who_went_in_stays_in_the_group(event: str, allowed: bool) -> None:
    assert may_leave("Ann", event).allowed is allowed


def test_a_group_that_went_in_or_was_called_off_takes_nobody() -> None:
    assert may_change_people(False, False, False).allowed
    assert may_change_people(True, False, False).rules == {L.ENTRY_STILL_OPEN.key}
    assert may_change_people(False, True, False).rules == {L.ABORT_IS_FINAL.key}
    assert not may_change_people(False, False, True).allowed


def test_nobody_watches_from_the_surface_while_under_water() -> None:
    other = Engagement("group B at 10:30", START, END)
    later = Engagement("group C at 12:30", END, END + timedelta(minutes=90))
    assert may_stand_ashore("Kim", False, (later,), START, END, LIMITS).allowed
    busy = may_stand_ashore("Kim", False, (other, later), START, END, LIMITS)
    assert busy.rules == {L.NO_OVERLAP.key} and busy.reasons[0].found == "group B at 10:30"
    assert not may_stand_ashore("Kim", True, (), START, END, LIMITS).allowed


def test_the_navy_table_is_a_second_opinion_for_guides_alone() -> None:
    def asked(table: float | None, minutes: float = 25, *, guide: bool = True, said: bool = False) -> bool:
        return second_opinion("Ines", guide, table, minutes, said, LIMITS).allowed

    assert asked(None) and asked(26) and not asked(25.9) and asked(25.9, said=True)
    assert asked(0, guide=False)


def test_a_missing_limit_or_cylinder_keeps_the_plan_back() -> None:
    assert limits_known(LIMITS).allowed and set(limits_used(LIMITS)) == {limit.key for limit in USED}
    unknown = Source(Kind.SHOP, "shop", {L.TURN_PRESSURE.key: None})
    assert not limits_known(limits_for((preset_source(GENERAL), unknown))).allowed
    assert cylinder_known("Ann", None, None).rules == {L.CYLINDER_GIVEN.key}
    assert cylinder_known("Ann", "7", None).rules == {L.PRESSURE_READ.key}
    assert cylinder_known("Ann", "7", 200).allowed


@pytest.mark.parametrize("part", PARTS)
def test_each_changed_part_is_named(part: str) -> None:
    was = dict.fromkeys(PARTS, 1)
    assert changed_parts(was, was) == ()
    assert changed_parts(was, {**was, part: 2}) == (PARTS[part],)
    assert changed_parts({}, {**dict.fromkeys(PARTS), part: 2}) == (PARTS[part],)
