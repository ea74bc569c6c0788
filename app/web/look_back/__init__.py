"""Look back: the day's gas and incidents, and how guests breathe."""

from app.web.look_back import breathing, day, earlier_dives

ROUTERS = (
    breathing.router,
    earlier_dives.router,
    day.router,
)
