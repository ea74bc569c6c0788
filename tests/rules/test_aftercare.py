"""Hours between the last dive and a flight."""

from datetime import timedelta

import pytest

from app.rules.aftercare import no_fly_until
from app.rules.resolve import Kind, Source, limits_for, shop_source
from tests.rules_world import GENERAL, NOW


@pytest.mark.parametrize("dives", [1, 2, 5])
def test_eighteen_hours_blocked_and_twenty_four_advised(dives: int) -> None:
    until = no_fly_until(NOW, dives, GENERAL)
    assert until is not None
    assert (until.blocked, until.advised) == (NOW + timedelta(hours=18), NOW + timedelta(hours=24))


def test_a_shop_may_go_to_twelve_after_one_dive_only() -> None:
    shop = limits_for([shop_source({"no_fly_single": 1, "no_fly_repeat": 1})])
    one, two = no_fly_until(NOW, 1, shop), no_fly_until(NOW, 2, shop)
    assert one is not None and one.blocked == NOW + timedelta(hours=12)
    assert two is not None and two.blocked == NOW + timedelta(hours=18)


def test_the_advice_is_never_shorter_than_the_block() -> None:
    long = no_fly_until(NOW, 1, limits_for([shop_source({"no_fly_single": 48})]))
    assert long is not None and long.advised == long.blocked == NOW + timedelta(hours=48)


def test_without_hours_or_dives_there_is_no_card() -> None:
    assert no_fly_until(NOW, 0, GENERAL) is None
    assert no_fly_until(NOW, 1, limits_for([Source(Kind.SHOP, "shop", {"no_fly_single": None})])) is None
