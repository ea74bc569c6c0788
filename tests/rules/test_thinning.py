"""Which backups stay, for any history of them; and key copies, which never outlive 35 days."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from app.rules.thinning import DAILY, MONTHLY, WEEKLY, kept, kept_keys

ZONES = st.sampled_from([ZoneInfo("Europe/Lisbon"), ZoneInfo("Pacific/Auckland"), ZoneInfo("UTC")])
FROM, TO = datetime(2024, 1, 1), datetime(2027, 1, 1)  # noqa: DTZ001 - hypothesis adds the zone
instants = st.datetimes(FROM, TO, timezones=st.just(UTC))
histories = st.sets(instants, min_size=1, max_size=120)


@given(histories, ZONES)
def test_what_stays_is_bounded_holds_the_newest_and_the_last_days_weeks_and_months(
    made: set[datetime], zone: ZoneInfo
) -> None:
    stay = kept(made, zone)
    assert stay <= made and max(made) in stay
    assert len(stay) <= DAILY + WEEKLY + MONTHLY
    days = sorted({one.astimezone(zone).date() for one in made}, reverse=True)
    assert {one.astimezone(zone).date() for one in stay} >= set(days[:DAILY])
    months = sorted({one.astimezone(zone).strftime("%Y-%m") for one in made}, reverse=True)
    assert {one.astimezone(zone).strftime("%Y-%m") for one in stay} >= set(months[:MONTHLY])
    weeks = sorted({one.astimezone(zone).isocalendar()[:2] for one in made}, reverse=True)
    assert {one.astimezone(zone).isocalendar()[:2] for one in stay} >= set(weeks[:WEEKLY])


@given(histories, ZONES)
def test_thinning_twice_thins_no_more(made: set[datetime], zone: ZoneInfo) -> None:
    stay = kept(made, zone)
    assert kept(stay, zone) == stay


def test_a_year_of_daily_backups_keeps_14_days_8_weeks_and_12_months() -> None:
    zone, first = ZoneInfo("UTC"), datetime(2025, 1, 1, 3, 30, tzinfo=UTC)
    held: set[datetime] = set()
    for number in range(500):
        held = kept(held | {first + timedelta(days=number)}, zone)
    days = sorted(((first + timedelta(days=499)) - one).days for one in held)
    assert days[:14] == list(range(14))
    assert len(held) == 14 + 6 + 10, "two weeks and two months are among the days and weeks"
    assert 300 < days[-1] < 366


@given(histories, instants)
def test_no_key_copy_is_older_than_35_days_but_the_newest(made: set[datetime], now: datetime) -> None:
    stay = kept_keys(made, now)
    assert max(made) in stay
    assert all(now - one < timedelta(days=35) for one in stay if one != max(made))
    assert all(one in stay for one in made if now - one <= timedelta(days=34))
