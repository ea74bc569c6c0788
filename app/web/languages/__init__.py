"""Languages: what guests read in their own, who checked it, and the briefing to hold up."""

from app.web.languages import briefing, checking, signals

ROUTERS = (
    checking.router,
    briefing.router,
    signals.router,
)
