"""Prints: what the day needs on paper, the blank pack for a power cut, and typing the paper in afterwards."""

from app.web.prints import day, leaving, pack, typed_in

ROUTERS = (day.router, leaving.router, pack.router, typed_in.router)
