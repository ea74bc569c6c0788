"""When a daily chore is due: once a day, after its time of day, missed ones at the next start."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

# After a chore that failed, and how far ahead a run may lie before its clock is taken for wrong.
RETRY = timedelta(hours=1)
CLOCK_WAS_WRONG = timedelta(days=1)


def last_moment(now: datetime, zone: ZoneInfo, clock: time) -> datetime:
    """Return the newest instant at or before now at which the shop's clock said ``clock``."""
    here = now.astimezone(zone)
    moment = datetime.combine(here.date(), clock, zone)
    return moment if moment <= now else datetime.combine(here.date() - timedelta(days=1), clock, zone)


def is_due(
    now: datetime, zone: ZoneInfo, clock: time, last_good: datetime | None, last_try: datetime | None
) -> bool:
    """Return whether a chore should run now.

    last_good, last_try: when it last began and went well, and last began at all; None means never. A run
    that lies more than a day ahead was stamped by a wrong clock and does not count.
    """
    if last_try is not None and timedelta(0) <= now - last_try < RETRY:
        return False
    return last_good is None or last_good - now > CLOCK_WAS_WRONG or last_good < last_moment(now, zone, clock)
