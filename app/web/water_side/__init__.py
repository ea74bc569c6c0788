"""Water side: get ready, going out, back in, wrap up."""

from app.web.water_side import back, gauges, lead, side, wrap

ROUTERS = (
    side.router,
    gauges.router,
    lead.router,
    back.router,
    wrap.router,
)
