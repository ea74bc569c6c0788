"""What is left of filter and oil, what a certificate says, and when nothing may be filled."""

from datetime import date
from typing import Any

import pytest

from app.rules import presets
from app.rules.compressor import Certificate, CompressorFacts, certificate_good, may_run, wear_of
from app.rules.resolve import limits_for, preset_source, shop_source

LIMITS = limits_for([preset_source(presets.GENERAL)])
GOOD = Certificate(date(2026, 6, 1), True, 20.9, 1, 400, 0.1, 30)


def facts(**changes: Any) -> CompressorFacts:
    """A compressor at 1,410 h with filter and oil renewed at 1,400 h."""
    values: dict[str, Any] = {"hours": 1410, "filter_at": 1400, "oil_at": 1400, "certificate": GOOD}
    return CompressorFacts(**(values | changes))


def test_hours_used_and_left() -> None:
    filter_wear, oil_wear = wear_of(facts(), LIMITS)
    assert (filter_wear.used, filter_wear.left, oil_wear.left) == (10, 15, 90)
    unknown = wear_of(facts(filter_at=None), LIMITS)[0]
    assert (unknown.used, unknown.left) == (None, None)
    assert may_run(facts(), LIMITS).notes == ()


@pytest.mark.parametrize(
    ("hours", "allowed", "said"),
    [(1419.9, True, False), (1420, True, True), (1424.9, True, True), (1425, False, False)],
)
def test_the_filter_is_said_before_it_is_used_up_and_then_stops_fills(
    hours: float, allowed: bool, said: bool
) -> None:
    asked = may_run(facts(hours=hours, oil_at=1410), LIMITS)
    assert asked.allowed is allowed
    assert bool(asked.notes) is said
    if not allowed:
        assert [reason.rule for reason in asked.reasons] == ["compressor_filter_hours"]
        assert (asked.reasons[0].found, asked.reasons[0].needed) == ("25", "at most 25")


@pytest.mark.parametrize(("hours", "said"), [(1494, []), (1495, ["soon"]), (1500, ["overdue"])])
def test_oil_is_said_and_never_stops(hours: float, said: list[str]) -> None:
    asked = may_run(facts(hours=hours, filter_at=hours - 1), LIMITS)
    assert asked.allowed and len(asked.notes) == len(said)
    assert all(word in note.text for word, note in zip(said, asked.notes, strict=True))


def test_what_nobody_wrote_down_is_said_and_does_not_stop() -> None:
    asked = may_run(CompressorFacts(None, None, None, None), LIMITS, 230)
    assert asked.allowed and len(asked.notes) == 2


def test_the_makers_manual_may_give_the_filter_longer() -> None:
    longer = limits_for([preset_source(presets.GENERAL), shop_source({"compressor_filter_hours": 40})])
    assert may_run(facts(hours=1430), longer).allowed


@pytest.mark.parametrize(
    ("figure", "edge", "over", "rule"),
    [
        ("oxygen_percent", 20, 19.9, "air_oxygen_min"),
        ("oxygen_percent", 22, 22.1, "air_oxygen_max"),
        ("co_ppm", 5, 5.1, "air_co_max"),
        ("co2_ppm", 500, 501, "air_co2_max"),
        ("oil_mg_m3", 0.5, 0.51, "air_oil_max"),
        ("water_mg_m3", 50, 50.1, "air_water_max"),
    ],
)
def test_each_figure_of_the_certificate_has_its_limit(
    figure: str, edge: float, over: float, rule: str
) -> None:
    """EN 12021:2014."""
    good = Certificate(date(2026, 6, 1), True, **{figure: edge})
    bad = Certificate(date(2026, 6, 1), True, **{figure: over})
    assert certificate_good(good, LIMITS).allowed
    assert certificate_good(bad, LIMITS).rules == {rule}
    assert not may_run(facts(certificate=bad), LIMITS).allowed


def test_a_certificate_that_did_not_pass_stops_fills_whatever_its_figures() -> None:
    failed = Certificate(date(2026, 6, 1), False, 20.9, 1, 400, 0.1, 30)
    assert certificate_good(failed, LIMITS).rules == {"compressor_air_test_every"}
    assert certificate_good(Certificate(date(2026, 6, 1), True), LIMITS).allowed


def test_wet_air_may_be_filled_to_200_bar_only() -> None:
    wet = facts(certificate=Certificate(date(2026, 6, 1), True, water_mg_m3=40))
    assert may_run(wet, LIMITS, 200).allowed
    assert may_run(wet, LIMITS, 201).rules == {"air_water_max_high"}
    assert may_run(
        facts(certificate=Certificate(date(2026, 6, 1), True, water_mg_m3=35)), LIMITS, 232
    ).allowed
