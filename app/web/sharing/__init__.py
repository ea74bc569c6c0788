"""Keep and share: what leaves the shop as files, for the manager."""

from app.web.sharing import files

ROUTERS = (files.router,)
