"""Kit on the rail."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from app.rules.kit import SERVICED, SIZES, KitFacts, may_give, may_hold, next_service
from app.rules.resolve import Kind, Source, limits_for
from tests.rules_world import DAY, GENERAL, plain

JACKET = KitFacts("J04", "jacket", "M", False, "", DAY)


def test_good_kit_is_given_up_to_the_last_day_of_its_service() -> None:
    assert may_give(JACKET, DAY, GENERAL).allowed
    assert may_give(replace(JACKET, out_with="Guest 1"), DAY, GENERAL, to="Guest 1").allowed


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"quarantined": True}, "kit_not_quarantined"),
        ({"quarantined": None}, "kit_not_quarantined"),
        ({"out_with": "Guest 2"}, "kit_free"),
        ({"out_with": None}, "kit_free"),
        ({"service_due": None}, "kit_service_every"),
        ({"service_due": DAY - timedelta(days=1)}, "kit_service_every"),
    ],
)
def test_each_reason_alone(changes: dict[str, Any], rule: str) -> None:
    assert plain(may_give(replace(JACKET, **changes), DAY, GENERAL, to="Guest 1")).rules == {rule}


@pytest.mark.parametrize("kind", SIZES)
def test_only_what_a_life_hangs_on_needs_a_service(kind: str) -> None:
    item = replace(JACKET, kind=kind, service_due=None)
    assert may_give(item, DAY, GENERAL).allowed is (kind not in SERVICED)


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
