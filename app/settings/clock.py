"""The one place that reads the computer's clock; everything else is handed ``now``."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

Clock = Callable[[], datetime]


def wall_clock() -> datetime:
    """Return the present instant, aware, in UTC."""
    return datetime.now(UTC)  # noqa: TID251 - the one reader of the clock


def shifted_clock(first_now: datetime, source: Clock = wall_clock) -> Clock:
    """Return a clock that says ``first_now`` at this moment and then runs on.

    The demo shop lives at eleven in the morning of its day, whenever it is opened.
    """
    shift: timedelta = first_now - source()
    return lambda: source() + shift
