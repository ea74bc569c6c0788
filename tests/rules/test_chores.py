"""When daily chores are due: once a day, missed ones at the next start, failed ones an hour later."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.chores import is_due, last_moment

ZONE = ZoneInfo("Europe/Lisbon")
AT = time(3, 30)
FROM, TO = datetime(2020, 1, 1), datetime(2035, 1, 1)  # noqa: DTZ001 - hypothesis adds the zone
instants = st.datetimes(FROM, TO, timezones=st.just(UTC))


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=ZONE)


@pytest.mark.parametrize(
    ("now", "good", "tried", "due"),
    [
        ("2026-07-15 09:00", None, None, True),
        ("2026-07-15 09:00", "2026-07-15 03:30", "2026-07-15 03:30", False),
        ("2026-07-15 03:29", "2026-07-14 03:31", "2026-07-14 03:31", False),
        ("2026-07-15 03:30", "2026-07-14 03:31", "2026-07-14 03:31", True),
        ("2026-07-20 08:00", "2026-07-14 03:31", "2026-07-14 03:31", True),
        ("2026-07-15 04:00", "2026-07-14 03:31", "2026-07-15 03:31", False),
        ("2026-07-15 04:31", "2026-07-14 03:31", "2026-07-15 03:31", True),
        ("2026-07-15 04:31", None, "2026-07-15 04:00", False),
        # Stamped by a clock that stood a year ahead.
        ("2026-07-15 04:31", "2027-07-14 03:31", "2027-07-14 03:31", True),
    ],
)
def test_when_a_chore_is_due(now: str, good: str | None, tried: str | None, due: bool) -> None:
    assert is_due(at(now), ZONE, AT, at(good) if good else None, at(tried) if tried else None) is due


@given(instants, st.sampled_from([ZONE, ZoneInfo("Australia/Lord_Howe"), ZoneInfo("UTC")]), st.times())
def test_the_last_moment_is_at_most_a_day_and_a_change_of_clocks_ago(
    now: datetime, zone: ZoneInfo, clock: time
) -> None:
    moment = last_moment(now, zone, clock)
    assert timedelta(0) <= now - moment <= timedelta(hours=26)
    assert moment.time() == clock


@given(instants, st.timedeltas(timedelta(0), timedelta(days=3)))
def test_a_chore_that_went_well_is_due_again_within_a_day_and_never_twice_at_once(
    good: datetime, later: timedelta
) -> None:
    now = good + later
    due = is_due(now, ZONE, AT, good, good)
    assert due or later < timedelta(hours=26)
    assert not due or last_moment(now, ZONE, AT) > good
