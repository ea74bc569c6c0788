"""The web front: one router per area of the shop's day."""

from app.web import sign_in, today

AREAS = (sign_in.router, today.router)
