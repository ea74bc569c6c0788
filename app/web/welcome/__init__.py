"""Welcome: bookings, parties, guests, flights."""

from app.web.welcome import desk, guests, party

ROUTERS = (
    desk.router,
    party.router,
    guests.router,
)
