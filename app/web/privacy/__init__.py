"""Keeping health records: the keeper's home, one guest's data, breaches, times for keeping, the promise."""

from app.web.privacy import breaches, export, guest, home, keeping, looks

ROUTERS = (
    home.router,
    guest.router,
    export.router,
    looks.router,
    breaches.router,
    keeping.router,
)
