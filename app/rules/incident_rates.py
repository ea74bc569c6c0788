"""Incidents against guests, said only where there is enough to say. Never a mark, never a traffic light."""

from dataclasses import dataclass

from app.planning.event_rates import EventRate, rate_per_hundred

# Below five events the interval's upper end is more than seven times its lower end.
LEAST_EVENTS = 5
# Fewer guests than this are not a hundred guests' worth of anything.
LEAST_GUESTS = 100


@dataclass(frozen=True, slots=True)
class Told:
    """Incidents of a stretch of time and guests who went in; rate: None where it is too few to say."""

    incidents: int
    guests: int
    rate: EventRate | None


def told(incidents: int, guests: int) -> Told:
    """Return what may be said of a count of incidents among guests who went in."""
    enough = incidents >= LEAST_EVENTS and guests >= LEAST_GUESTS
    return Told(incidents, guests, rate_per_hundred(incidents, guests) if enough else None)
