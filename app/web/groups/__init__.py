"""Who goes with whom: slots, groups, guides, and whether more can come."""

from app.web.groups import capacity, groups, guide_day, slots

ROUTERS = (
    guide_day.router,
    groups.router,
    slots.router,
    capacity.router,
)
