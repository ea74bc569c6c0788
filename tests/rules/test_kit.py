"""Kit on the rail."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from app.rules.kit import (
    FIRST_DIVE,
    KINDS,
    SERVICED,
    SIZES,
    KitFacts,
    clean_from,
    first_dive_needs,
    how_to_clean,
    lacking,
    may_give,
    may_hold,
    next_service,
    service_asked,
)
from app.rules.resolve import Kind, Source, limits_for
from tests.rules_world import DAY, GENERAL, plain

NOW = datetime(DAY.year, DAY.month, DAY.day, 9, 0, tzinfo=UTC)
JACKET = KitFacts("J04", "jacket", "M", False, "", DAY)


def test_good_kit_is_given_up_to_the_last_day_of_its_service() -> None:
    assert may_give(JACKET, DAY, NOW, GENERAL).allowed
    assert may_give(replace(JACKET, out_with="Guest 1"), DAY, NOW, GENERAL, to="Guest 1").allowed


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"quarantined": True}, "kit_not_quarantined"),
        ({"quarantined": None}, "kit_not_quarantined"),
        ({"out_with": "Guest 2"}, "kit_free"),
        ({"out_with": None}, "kit_free"),
        ({"service_due": None}, "kit_service_every"),
        ({"service_due": DAY - timedelta(days=1)}, "kit_service_every"),
        ({"back_at": NOW - timedelta(minutes=29, seconds=59)}, "kit_rinsed"),
        ({"back_at": NOW}, "kit_rinsed"),
    ],
)
def test_each_reason_alone(changes: dict[str, Any], rule: str) -> None:
    assert plain(may_give(replace(JACKET, **changes), DAY, NOW, GENERAL, to="Guest 1")).rules == {rule}


@pytest.mark.parametrize("kind", SIZES)
def test_only_what_a_life_hangs_on_needs_a_service(kind: str) -> None:
    item = replace(JACKET, kind=kind, service_due=None)
    assert may_give(item, DAY, NOW, GENERAL).allowed is (kind not in SERVICED)


def test_size_words_are_unique_and_in_order() -> None:
    assert all(len(set(sizes)) == len(sizes) for sizes in SIZES.values())
    assert SIZES["suit"].index("S") < SIZES["suit"].index("M") < SIZES["suit"].index("XL")
    assert set(SIZES) >= SERVICED


def test_next_service() -> None:
    assert next_service(date(2026, 2, 28), GENERAL) == date(2027, 2, 28)
    assert next_service(DAY, limits_for([Source(Kind.SHOP, "shop", {"kit_service_every": None})])) is None


def test_a_guest_has_one_piece_of_a_kind() -> None:
    assert may_hold("Ann", JACKET, "").allowed
    refused = plain(may_hold("Ann", JACKET, "J01"))
    assert refused.rules == {"kit_free"}
    assert refused.reasons[0].text == "Ann has jacket J01 already. Take that back first."


def test_what_came_back_waits_half_an_hour_or_for_somebody_who_rinsed_it() -> None:
    back = replace(JACKET, back_at=NOW - timedelta(minutes=10))
    refused = plain(may_give(back, DAY, NOW, GENERAL))
    assert refused.reasons[0].found == "back 10 min ago"
    assert refused.reasons[0].needed == "rinsed and dry, or at least 30 min"
    assert may_give(replace(back, rinsed=True), DAY, NOW, GENERAL).allowed
    assert may_give(replace(back, back_at=NOW - timedelta(minutes=30)), DAY, NOW, GENERAL).allowed
    assert clean_from(NOW, GENERAL) == NOW + timedelta(minutes=30)
    unset = limits_for([Source(Kind.SHOP, "shop", {"kit_rinse_minutes": None})])
    assert clean_from(NOW, unset) is None and not may_give(back, DAY, NOW, unset).allowed
    longer = limits_for([Source(Kind.SHOP, "shop", {"kit_rinse_minutes": 45.0})])
    assert not may_give(replace(back, back_at=NOW - timedelta(minutes=30)), DAY, NOW, longer).allowed


def test_what_touches_the_face_is_disinfected() -> None:
    assert how_to_clean("mask") == how_to_clean("regulator") == "rinsed and disinfected"
    assert how_to_clean("suit") == "rinsed and dry"


def test_a_hood_belongs_to_cold_water_and_to_water_nobody_knows() -> None:
    assert first_dive_needs(FIRST_DIVE, 16, GENERAL) == FIRST_DIVE
    assert first_dive_needs(FIRST_DIVE, 15.9, GENERAL) == (*FIRST_DIVE, "hood")
    assert first_dive_needs(FIRST_DIVE, None, GENERAL) == (*FIRST_DIVE, "hood")
    assert first_dive_needs(("torch", "suit"), 20, GENERAL) == ("suit", "torch")
    assert lacking(FIRST_DIVE, {"suit", "mask", "torch"}) == ("jacket", "boots", "fins", "regulator")
    assert lacking(FIRST_DIVE, set(FIRST_DIVE)) == ()


def test_a_service_is_shown_sixty_days_before() -> None:
    assert service_asked(replace(JACKET, service_due=DAY + timedelta(days=60)), DAY, GENERAL)
    assert not service_asked(replace(JACKET, service_due=DAY + timedelta(days=61)), DAY, GENERAL)
    assert service_asked(replace(JACKET, service_due=None), DAY, GENERAL)
    assert not service_asked(replace(JACKET, kind="suit", service_due=None), DAY, GENERAL)
    assert set(KINDS) == set(SIZES)
