"""Keeping the records: backups, the recovery sheet, rehearsals and checks."""

from app.web.keeping import backups, recovery

ROUTERS = (backups.router, recovery.router)
