"""The screening takes its numbers from the limits in force."""

from app.rules import limits as L
from app.rules.resolve import Kind, Source, limits_for, shop_source
from app.rules.screening_policy import SHIPPED, ScreeningPolicy, policy_in_force


def test_the_shipped_numbers() -> None:
    assert (
        ScreeningPolicy(
            youngest_confined=8,
            youngest_open_water=10,
            majority_age=18,
            history_valid_days=30,
            no_fly_h=18,
            no_fly_advise_h=24,
            child_under_age=16,
            talk_from_age=65,
            child_letter_age=0,
        )
        == SHIPPED
    )


def test_a_shops_stricter_values_bind_and_a_looser_one_does_not() -> None:
    shop = shop_source(
        {
            L.DECLARATION_VALID_FOR.key: 7,
            L.AGE_MIN_POOL.key: 6,
            L.NO_FLY_SINGLE.key: 12,
            L.CHILD_LETTER_AGE.key: 16,
        }
    )

    policy = policy_in_force(limits_for((shop,)))

    assert policy.history_valid_days == 7
    assert policy.youngest_confined == 8
    assert policy.no_fly_h == 18
    assert policy.child_letter_age == 16


def test_a_limit_without_a_value_lets_nobody_past() -> None:
    lost = Source(Kind.SITE, "site", {L.AGE_MIN_POOL.key: None, L.DECLARATION_VALID_FOR.key: None})

    policy = policy_in_force(limits_for((lost,)))

    assert policy.youngest_confined > 200
    assert policy.history_valid_days < 0
