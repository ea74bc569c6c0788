"""Water side: get ready, going out, back in, wrap up."""

from app.web.water_side import back, gauges, lead, one_person, ready, side, wrap

ROUTERS = (
    side.router,
    ready.router,
    one_person.router,
    gauges.router,
    lead.router,
    back.router,
    wrap.router,
)
