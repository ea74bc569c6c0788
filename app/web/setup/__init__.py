"""Shop set-up: the shop, its sites, limits, people and devices."""

from app.web.setup import about, shop, steps, team

ROUTERS = (
    steps.router,
    shop.router,
    about.router,
    team.router,
)
