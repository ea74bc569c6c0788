"""Caps by age, and how near a child's guardian is."""

from datetime import date

import pytest

from app.rules import ages
from app.rules.people import GuardianPlace
from app.rules.plan_check import depth_in_force
from tests.rules_world import GENERAL, group, guest, limits_of, minor, plain


@pytest.mark.parametrize(
    ("age", "depth", "ratio", "minutes"),
    [
        (10, 5, 1, 25),
        (11, 5, 1, 25),
        (12, 8, 2, 35),
        (14, 8, 2, 35),
        (15, 10, 2, 35),
        (17, 10, 2, 35),
        (18, 10, 2, 35),
        (70, 10, 2, 35),
    ],
)
def test_caps_in_open_water(age: int, depth: float, ratio: int, minutes: float) -> None:
    from app.rules.groups import ratio_in_force

    facts = group(minor(1, age), site_depth_m=30.0)
    limits = limits_of(facts)
    assert depth_in_force(limits, "open").value == depth
    assert ratio_in_force(facts, limits).value == ratio
    assert limits["bottom_time_max"].value == minutes


def test_an_eight_year_old_in_the_pool() -> None:
    facts = group(minor(1, 8), where="confined", site_depth_m=3.0)
    limits = limits_of(facts)
    assert depth_in_force(limits, "confined").value == 2
    assert limits["ratio_confined"].value == 1
    assert limits["bottom_time_max"].value == 20
    assert limits["ratio_confined"].bound_by == "guest's age 8"


def test_a_mixed_group_takes_the_strictest_row() -> None:
    limits = limits_of(group(guest(1), minor(2, 16), minor(3, 11), site_depth_m=30.0))
    assert depth_in_force(limits, "open").value == 5
    assert limits["bottom_time_max"].value == 25
    assert limits["depth_max_open_water"].bound_by == "guest's age 11"


@pytest.mark.parametrize("age", [None, 7, 0])
def test_unknown_and_too_young_leave_no_caps_to_dive_under(age: int | None) -> None:
    limits = limits_of(group(guest(1, age=age)))
    for key in ("depth_max_open_water", "depth_max_confined", "bottom_time_max", "ratio_confined"):
        assert limits[key].value is None


@pytest.mark.parametrize(
    ("age", "where", "allowed"),
    [
        (10, "open", True),
        (9, "open", False),
        (8, "confined", True),
        (7, "confined", False),
        (None, "open", False),
    ],
)
def test_youngest_age(age: int | None, where: str, allowed: bool) -> None:
    decision = plain(ages.may_dive_at_age(guest(1, age=age), where, GENERAL))  # type: ignore[arg-type]
    assert decision.allowed is allowed


@pytest.mark.parametrize(
    ("age", "place", "allowed"),
    [
        (8, GuardianPlace.POOLSIDE, True),
        (9, GuardianPlace.ON_SITE, False),
        (10, GuardianPlace.ON_SITE, True),
        (11, GuardianPlace.POOLSIDE, True),
        (11, GuardianPlace.BY_PHONE, False),
        (12, GuardianPlace.BY_PHONE, True),
        (14, None, False),
        (15, None, True),
        (30, None, True),
    ],
)
def test_guardian_near_enough(age: int, place: GuardianPlace | None, allowed: bool) -> None:
    assert plain(ages.guardian_is_near(guest(1, age=age, guardian_place=place))).allowed is allowed


@pytest.mark.parametrize(
    ("birth", "day", "age"),
    [
        (date(2014, 7, 15), date(2026, 7, 15), 12),
        (date(2014, 7, 16), date(2026, 7, 15), 11),
        (date(2008, 2, 29), date(2026, 2, 28), 17),
        (date(2008, 2, 29), date(2026, 3, 1), 18),
    ],
)
def test_age_in_whole_years(birth: date, day: date, age: int) -> None:
    assert ages.age_on(birth, day) == age


def test_the_bands_leave_no_gap_from_the_youngest_to_majority() -> None:
    covered = [age for band in ages.BANDS for age in range(band.youngest, band.oldest + 1)]
    assert covered == list(range(8, 18))
    assert ages.is_minor(None, GENERAL) and ages.is_minor(17, GENERAL) and not ages.is_minor(18, GENERAL)
