"""The plan of a group: the page, its working, its picture, the slate."""

from app.web.plans import plan

ROUTERS = (plan.router,)
