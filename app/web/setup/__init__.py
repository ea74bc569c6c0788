"""Shop set-up: the shop, its sites, limits, people and devices."""

from app.web.setup import about, phones, questions, shop, steps, team

ROUTERS = (
    steps.router,
    shop.router,
    about.router,
    questions.router,
    team.router,
    phones.router,
)
