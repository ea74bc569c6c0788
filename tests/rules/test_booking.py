"""Booking a party, and sizes that look like a person's."""

from dataclasses import replace
from datetime import date, timedelta
from math import nan
from typing import Any

import pytest

from app.rules.booking import (
    BookedGuest,
    Measure,
    SlotFacts,
    judge_measure,
    may_book,
    may_come,
    may_have_places,
    places_left,
)
from app.rules.gas import Level
from app.rules.resolve import Kind, Source, limits_for
from tests.rules_world import DAY, GENERAL, START, plain

SLOT = SlotFacts("10:00 Long Jetty", DAY, START, "open", 6, 2, True)
GUEST = BookedGuest("Ada Vane", date(1990, 1, 1))
NOW = START - timedelta(hours=2)


def _book(party: tuple[BookedGuest, ...] = (GUEST,), **slot: Any) -> set[str]:
    return set(plain(may_book(party, replace(SLOT, **slot), NOW, GENERAL)).rules)


def test_a_party_with_room_and_time_is_booked() -> None:
    assert _book() == set()
    assert _book((GUEST,) * 4) == set()


@pytest.mark.parametrize(
    ("party", "slot", "rules"),
    [
        ((), {}, {"party_size_max"}),
        ((GUEST,) * 13, {"places": 20}, {"party_size_max"}),
        ((GUEST,) * 5, {}, {"places_left"}),
        ((GUEST,), {"places": None}, {"places_left"}),
        ((GUEST,), {"taken": None}, {"places_left"}),
        ((GUEST,), {"open": False}, {"places_left"}),
        ((GUEST,), {"open": None}, {"places_left"}),
        ((GUEST,), {"start": NOW + timedelta(minutes=29)}, {"booking_closes_before"}),
        ((GUEST,), {"start": NOW + timedelta(minutes=30)}, set()),
        ((replace(GUEST, name="  "),), {}, {"name_given"}),
        ((replace(GUEST, name="a" * 101),), {}, {"name_length_max"}),
        ((replace(GUEST, name="a" * 100),), {}, set()),
        ((replace(GUEST, birth_date=None),), {}, {"age_min_open_water"}),
        ((replace(GUEST, birth_date=DAY + timedelta(days=1)),), {}, {"age_min_open_water"}),
        ((replace(GUEST, birth_date=date(2016, 7, 16)),), {}, {"age_min_open_water"}),
        ((replace(GUEST, birth_date=date(2016, 7, 15)),), {}, set()),
        ((replace(GUEST, birth_date=date(2018, 7, 15)),), {"where": "confined"}, set()),
        ((replace(GUEST, birth_date=date(2018, 7, 16)),), {"where": "confined"}, {"age_min_pool"}),
    ],
)
def test_each_reason_alone(party: tuple[BookedGuest, ...], slot: dict[str, Any], rules: set[str]) -> None:
    assert _book(party, **slot) == rules


def test_places_left() -> None:
    assert places_left(SLOT) == 4
    assert places_left(replace(SLOT, taken=9)) == 0
    (reason,) = may_book((GUEST,) * 2, replace(SLOT, taken=5), NOW, GENERAL).reasons
    assert reason.text == "10:00 Long Jetty has 1 place left. Choose another time or a smaller group."


@pytest.mark.parametrize(
    ("kind", "value", "level", "sentence"),
    [
        ("height", 175, Level.FINE, ""),
        ("height", 89, Level.IMPOSSIBLE, "Height must be between 90 and 230 cm."),
        ("height", 231, Level.IMPOSSIBLE, "Height must be between 90 and 230 cm."),
        ("height", 119, Level.UNUSUAL, "Unusual. Check the height."),
        ("height", 206, Level.UNUSUAL, "Unusual. Check the height."),
        ("weight", 17, Level.IMPOSSIBLE, "Weight must be between 18 and 220 kg."),
        ("weight", 27, Level.UNUSUAL, "Unusual. Check the weight."),
        ("weight", 141, Level.UNUSUAL, "Unusual. Check the weight."),
        ("weight", nan, Level.IMPOSSIBLE, "Weight must be between 18 and 220 kg."),
        ("age", -1, Level.IMPOSSIBLE, "Age must be between 0 and 110 years."),
        ("age", 81, Level.UNUSUAL, "Unusual. Check the age."),
        ("age", 30, Level.FINE, ""),
    ],
)
def test_sizes(kind: Measure, value: float, level: Level, sentence: str) -> None:
    judged = judge_measure(kind, value, GENERAL)
    assert (judged.level, judged.sentence) == (level, sentence)


def test_without_its_range_a_size_cannot_be_entered() -> None:
    gone = limits_for([Source(Kind.SHOP, "shop", {"height_highest": None})])
    assert judge_measure("height", 175, gone).level is Level.IMPOSSIBLE


def test_who_stands_at_the_counter_may_book_until_the_slot_starts() -> None:
    for minutes, rules in ((0, set()), (29, set()), (-1, {"booking_closes_before"})):
        slot = replace(SLOT, start=NOW + timedelta(minutes=minutes))
        decision = may_book((GUEST,), slot, NOW, GENERAL, at_the_counter=True)
        assert set(plain(decision).rules) == rules, minutes


def test_a_party_that_has_its_places_is_asked_for_room_and_ages_but_not_for_the_time() -> None:
    assert may_have_places((GUEST,) * 4, SLOT, GENERAL).allowed
    assert may_have_places((GUEST,) * 5, SLOT, GENERAL).rules == {"places_left"}
    assert may_come(2, replace(GUEST, birth_date=date(2016, 7, 16)), SLOT, GENERAL).rules == {
        "age_min_open_water"
    }
