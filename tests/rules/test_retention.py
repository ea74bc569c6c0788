"""Live, sealed, erased: the stage of one record, by hand and for any record at all."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules import limits
from app.rules.retention import (
    COUNTRIES,
    GENERAL,
    QUEENSLAND,
    Keeping,
    Kept,
    Stage,
    keep_until,
    months_after,
    stage_on,
    too_short,
)

DAY = date(2026, 7, 15)
ADULT = Kept(DAY, dived=True, birth_date=date(1990, 3, 2), majority_age=18)
CHILD = Kept(DAY, dived=True, birth_date=date(2014, 3, 2), majority_age=18)
LIVE = 30
ORDER = [Stage.LIVE, Stage.SEALED, Stage.ERASED]
days = st.dates(date(2000, 1, 1), date(2080, 12, 31))
records = st.builds(
    Kept,
    day=days,
    dived=st.booleans(),
    birth_date=st.dates(date(1930, 1, 1), date(1999, 12, 31)),
    majority_age=st.sampled_from([18.0, 21.0]),
    sealed=st.booleans(),
    asked=st.booleans(),
    held=st.booleans(),
)
settings = st.sampled_from(list(COUNTRIES.values()))


@pytest.mark.parametrize(
    ("kept", "today", "stage"),
    [
        (ADULT, date(2026, 7, 15), Stage.LIVE),
        (ADULT, date(2026, 8, 14), Stage.LIVE),
        (ADULT, date(2026, 8, 15), Stage.SEALED),
        (ADULT, date(2030, 1, 15), Stage.SEALED),
        (ADULT, date(2030, 1, 16), Stage.ERASED),
        (CHILD, date(2035, 9, 2), Stage.SEALED),
        (CHILD, date(2035, 9, 3), Stage.ERASED),
        (replace(ADULT, dived=False), date(2026, 8, 14), Stage.LIVE),
        (replace(ADULT, dived=False), date(2026, 8, 15), Stage.ERASED),
        (replace(ADULT, dived=False, asked=True), date(2026, 7, 1), Stage.ERASED),
        (replace(ADULT, asked=True), date(2026, 7, 16), Stage.SEALED),
        (replace(ADULT, held=True), date(2050, 1, 1), Stage.SEALED),
        (replace(ADULT, dived=False, held=True), date(2050, 1, 1), Stage.SEALED),
        (replace(ADULT, erased=True, held=True), DAY, Stage.ERASED),
    ],
)
def test_the_stage_by_hand(kept: Kept, today: date, stage: Stage) -> None:
    assert limits.HEALTH_LIVE_DAYS.value == LIVE
    assert stage_on(kept, today, GENERAL, LIVE) is stage


def test_shipped_times_for_keeping() -> None:
    assert (GENERAL.adult_months, GENERAL.minor_age, GENERAL.minor_months) == (42, 21, 6)
    assert QUEENSLAND.floor_months == 12
    assert COUNTRIES["spain"].adult_months == 18 and COUNTRIES["spain"].minor_age == 21
    assert COUNTRIES["france"].minor_age == 28
    assert all(one.source and not too_short(one) for one in COUNTRIES.values())
    assert "12 months" in too_short(replace(QUEENSLAND, adult_months=11))


@pytest.mark.parametrize(
    ("day", "months", "found"),
    [
        (date(2026, 7, 15), 42, date(2030, 1, 15)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2004, 2, 29), 252, date(2025, 2, 28)),
        (date(2026, 12, 1), 1, date(2027, 1, 1)),
    ],
)
def test_months_after(day: date, months: int, found: date) -> None:
    assert months_after(day, months) == found


@given(records, days, settings, st.integers(0, 4000))
def test_a_record_only_ever_moves_on(kept: Kept, today: date, keeping: Keeping, later: int) -> None:
    now = stage_on(kept, today, keeping, LIVE)
    then = replace(kept, sealed=kept.sealed or now is Stage.SEALED, erased=now is Stage.ERASED)
    after = stage_on(then, today + timedelta(days=later), keeping, LIVE)
    assert ORDER.index(after) >= ORDER.index(now)


@given(records, days, settings)
def test_a_hold_stops_erasing_and_nothing_is_erased_before_its_day(
    kept: Kept, today: date, keeping: Keeping
) -> None:
    held = stage_on(replace(kept, held=True), today, keeping, LIVE)
    assert held is not Stage.ERASED
    free = stage_on(replace(kept, held=False), today, keeping, LIVE)
    until = keep_until(kept, keeping)
    if free is Stage.ERASED and until is not None:
        assert today > until
    if kept.dived and kept.asked:
        assert free is not Stage.LIVE


@given(records, days, settings)
def test_nobody_who_never_dived_is_kept_longer_than_the_live_days(
    kept: Kept, today: date, keeping: Keeping
) -> None:
    free = replace(kept, dived=False, held=False)
    over = today > kept.day + timedelta(days=LIVE)
    assert (stage_on(free, today, keeping, LIVE) is Stage.ERASED) == (over or free.asked)


@given(records, settings)
def test_a_minor_is_kept_at_least_as_long_as_a_grown_up(kept: Kept, keeping: Keeping) -> None:
    dived = replace(kept, dived=True)
    minor = replace(dived, birth_date=kept.day - timedelta(days=4000))
    adult = replace(dived, birth_date=kept.day - timedelta(days=12000))
    young, old = keep_until(minor, keeping), keep_until(adult, keeping)
    assert young is not None and old is not None and young >= old
