"""Welcome: bookings, parties, guests, flights."""

from app.web.welcome import arrivals, desk, guests, party, returning

ROUTERS = (
    desk.router,
    arrivals.router,
    party.router,
    guests.router,
    returning.router,
)
