"""Health holds, and the emergency look."""

from app.web.health import emergency, holds

ROUTERS = (
    holds.router,
    emergency.router,
)
