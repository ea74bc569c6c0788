"""The look on shore: nobody goes in unseen, a no keeps ashore, and a smell of alcohol stands for the day."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.people import ShoreLook
from app.rules.readiness import may_enter_water
from app.rules.shore_look import POINTS, look_that_counts, looked_at_on_shore, stands_for_day
from tests.rules_world import DAY, NOW, entry, group, guest, limits_of

WELL = ShoreLook(True, "Ilka Toft", DAY)
NOT_WELL = ShoreLook(False, "Ilka Toft", DAY)
STANDS = ShoreLook(False, "Ilka Toft", DAY, final=True)
YESTERDAY = DAY - timedelta(days=1)


def test_the_points_are_all_there_and_alcohol_alone_stands_for_the_day() -> None:
    assert list(POINTS) == [
        "ears", "breathing", "steady", "sober", "calm", "suit", "comfort", "signals", "never_hold",
    ]  # fmt: skip
    assert [key for key in POINTS if stands_for_day([key])] == ["sober"]
    assert not stands_for_day([])


@pytest.mark.parametrize(
    ("look", "goes"),
    [
        (WELL, True),
        (NOT_WELL, False),
        (STANDS, False),
        (None, False),
        (ShoreLook(True, None, DAY), False),
        (ShoreLook(True, "", DAY), False),
        (ShoreLook(True, "Ilka Toft", YESTERDAY), False),
        (ShoreLook(True, "Ilka Toft", None), False),
    ],
)
@pytest.mark.parametrize("where", ["open", "confined"])
def test_only_a_named_look_of_the_day_with_all_in_order_lets_in(
    look: ShoreLook | None, goes: bool, where: str
) -> None:
    facts = entry(group(guest(1, look=look), guest(2), where=where, site_depth_m=3.0))
    decision = may_enter_water(facts, limits_of(facts.group), NOW)

    assert ("shore_look" not in decision.rules) is goes
    assert looked_at_on_shore(facts.group.guests[0], DAY).allowed is goes
    assert all(reason.who == "Guest 1" for reason in decision.reasons if reason.rule == "shore_look")


def test_the_last_look_counts_unless_one_stands_for_the_day() -> None:
    assert look_that_counts([NOT_WELL, WELL], DAY) == WELL
    assert look_that_counts([WELL, NOT_WELL], DAY) == NOT_WELL
    assert look_that_counts([STANDS, WELL], DAY) == STANDS
    assert look_that_counts([ShoreLook(False, "Ilka Toft", YESTERDAY, final=True)], DAY) is None
    assert look_that_counts([ShoreLook(True, None, DAY)], DAY) is None


@given(st.lists(st.sampled_from([WELL, NOT_WELL, STANDS]), max_size=5))
def test_a_look_never_opens_what_it_closed_for_the_day(looks: list[ShoreLook]) -> None:
    found = look_that_counts([*looks, WELL], DAY)

    assert found is not None and found.well is (STANDS not in looks)
