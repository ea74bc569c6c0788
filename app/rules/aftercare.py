"""How long after the last dive a guest waits before flying or going high.

Source: 2002 consensus workshop on flying after diving (12 h after one no-stop dive, 18 h after several);
the shop's own hours are never under that. Longer is better and none is a guarantee.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from app.rules import limits as L
from app.rules.resolve import Limits, strictest


@dataclass(frozen=True, slots=True)
class NoFlyUntil:
    """Both times are aware UTC: not before `blocked`, and better not before `advised`."""

    blocked: datetime
    advised: datetime


def no_fly_until(surfaced_at: datetime, dives: int, limits: Limits) -> NoFlyUntil | None:
    """When a guest may fly again after surfacing (aware UTC) from the last of `dives` dives that day.

    None when no hours are set, or when the dives are not counted: the card then cannot be given.
    """
    rule = L.NO_FLY_SINGLE if dives == 1 else L.NO_FLY_REPEAT
    hours = limits[rule].number
    advised = strictest(limits[rule], limits[L.NO_FLY_ADVISE]).number
    if dives < 1 or hours is None or advised is None:
        return None
    return NoFlyUntil(surfaced_at + timedelta(hours=hours), surfaced_at + timedelta(hours=advised))
