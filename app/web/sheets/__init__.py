"""Lists in and out of the shop, and labels."""

from app.web.sheets import labels, sheets

ROUTERS = (
    labels.router,
    sheets.router,
)
