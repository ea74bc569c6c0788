"""The web front: one router per area of the shop's day."""

from app.web import emergency_kit, setup, sign_in, team, today

AREAS = (emergency_kit.router, setup.router, team.router, sign_in.router, today.router)
