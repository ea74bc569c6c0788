"""Water side: get ready, going out, back in, wrap up."""

from app.web.water_side import back, gauges, lead, side, worker, wrap

ROUTERS = (
    # Its address would be read as a group's otherwise.
    worker.router,
    side.router,
    gauges.router,
    lead.router,
    back.router,
    wrap.router,
)
