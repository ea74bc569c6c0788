"""When guests who dived may fly: from their real times in and out, all dives of the last two days counted."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time

from sqlmodel import Session

from app.planning.dive_day import highest_group
from app.records.plans.dive_history import DESCENT_M_MIN, LOOK_BACK, PastDive, history, minute_of, minutes_of
from app.records.setup.shop import limits_now, the_shop
from app.records.tables.parties import GuestRow
from app.records.welcome.bookings import flight_of
from app.rules.flying import DivesDone, Flight, FlyingTimes, flight_after_dive, flying_times
from app.rules.resolve import Limits


@dataclass(frozen=True)
class AfterDive:
    """A guest who is back: surfaced when, after how many dives, may fly when, and the flight told.

    stands: the flight against the times: "unknown", "too soon", "sooner" than advised, or "fits".
    times: None while a limit has no value; nobody can then be told a time.
    """

    surfaced_at: datetime
    dives: int
    times: FlyingTimes | None
    flight: Flight
    stands: str


def after_dives(
    session: Session, guests: Iterable[GuestRow], day: date, now: datetime
) -> dict[int, AfterDive]:
    """Return each of these guests who dived on a day or in the two days before it and is back ashore.

    Who is in the water is left out: nobody knows yet when that dive ends.
    """
    rows = {guest.id or 0: guest for guest in guests}
    begins = datetime.combine(day, time(0), the_shop(session).zone)
    found = history(session, [], rows, begins - LOOK_BACK, now)
    limits = limits_now(session)
    return {
        key: _after(flight_of(row), found[None, key], limits)
        for key, row in rows.items()
        if (None, key) in found and not any(dive.in_water for dive in found[None, key])
    }


def _after(flight: Flight, dives: list[PastDive], limits: Limits) -> AfterDive:
    surfaced = max(dive.back for dive in dives)
    group = highest_group([minutes_of(dive) for dive in dives], minute_of(surfaced), DESCENT_M_MIN)
    times = flying_times(DivesDone(surfaced, len(dives), group, group is not None), limits)
    stands = "unknown" if times is None else flight_after_dive(flight, times)
    return AfterDive(surfaced, len(dives), times, flight, stands)
