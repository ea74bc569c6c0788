"""Health holds, and the emergency look."""

from app.web.health import day, emergency, holds, letters

ROUTERS = (
    holds.router,
    emergency.router,
    letters.router,
    day.router,
)
