"""Which backups are kept: the newest of each of the last days, weeks and months that have one."""

from collections.abc import Callable, Collection
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

DAILY, WEEKLY, MONTHLY = 14, 8, 12
# A destroyed key is gone from every copy within 35 days: a copy older than this goes with the next one.
KEY_COPY_DAYS = 34


def kept(made: Collection[datetime], zone: ZoneInfo) -> set[datetime]:
    """Return which backups stay: the newest of each of 14 days, 8 weeks and 12 months of the shop.

    Days, weeks (from Monday) and months without a backup do not count, so that a shop closed for the
    winter keeps what it has. The newest of all always stays.
    """
    here = sorted(made, reverse=True)
    keep: set[datetime] = set()
    for most, period in ((DAILY, _day), (WEEKLY, _week), (MONTHLY, _month)):
        keep |= set(_newest_of_each(here, zone, period)[:most])
    return keep


def kept_keys(made: Collection[datetime], now: datetime) -> set[datetime]:
    """Return which key copies stay: those of the last 34 days, and always the newest."""
    return {one for one in made if now - one <= timedelta(days=KEY_COPY_DAYS)} | set(sorted(made)[-1:])


def _newest_of_each(
    newest_first: list[datetime], zone: ZoneInfo, period: Callable[[datetime], object]
) -> list[datetime]:
    found: dict[object, datetime] = {}
    for one in newest_first:
        found.setdefault(period(one.astimezone(zone)), one)
    return list(found.values())


def _day(at: datetime) -> object:
    return at.date()


def _week(at: datetime) -> object:
    return at.isocalendar()[:2]


def _month(at: datetime) -> object:
    return (at.year, at.month)
