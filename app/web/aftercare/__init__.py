"""Aftercare: how each guest is on coming out, whom to call, the card to take along, and a page to keep."""

from app.web.aftercare import calling, cards, mementos, pages

ROUTERS = (
    pages.router,
    calling.router,
    cards.router,
    mementos.router,
)
