"""Shop set-up: the shop, its sites, limits, people and devices."""

from app.web.setup import shop, team

ROUTERS = (
    shop.router,
    team.router,
)
