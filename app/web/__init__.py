"""The web front: one router per area of the shop's day."""

from app.web import setup, team, sign_in, today

AREAS = (setup.router, team.router, sign_in.router, today.router)
