"""Look back: the day's gas and incidents, and how guests breathe."""

from app.web.look_back import (
    all_incidents,
    breathing,
    day,
    earlier_dives,
    gas_log,
    incident_file,
    incidents,
    learning,
)

ROUTERS = (
    breathing.router,
    earlier_dives.router,
    day.router,
    all_incidents.router,
    incidents.router,
    incident_file.router,
    gas_log.router,
    learning.router,
)
