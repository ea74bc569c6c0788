"""Until when records are kept."""

from datetime import date

from app.rules.resolve import Kind, Source, limits_for
from app.rules.retention import keep_until
from tests.rules_world import DAY, GENERAL


def test_five_years_for_adults() -> None:
    assert keep_until(DAY, (), GENERAL) == date(2031, 7, 15)
    assert keep_until(DAY, (date(1990, 5, 1),), GENERAL) == date(2031, 7, 15)
    assert keep_until(date(2024, 2, 29), (), GENERAL) == date(2029, 2, 28)


def test_a_minor_in_the_record_keeps_it_past_majority() -> None:
    assert keep_until(DAY, (date(1990, 5, 1), date(2015, 5, 1)), GENERAL) == date(2036, 5, 1)
    assert keep_until(DAY, (date(2009, 5, 1),), GENERAL) == date(2031, 7, 15)


def test_without_a_period_nothing_is_thrown_away() -> None:
    for key in ("retention_default", "majority_age", "retention_minor_after_majority"):
        assert keep_until(DAY, (), limits_for([Source(Kind.SHOP, "shop", {key: None})])) is None
