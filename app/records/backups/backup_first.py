"""A backup of the records as they are, before a newer program changes their shape."""

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from sqlalchemy import Engine, MetaData, Table

from app.records.backups.backup import chosen_folder, default_folder, make_backup
from app.records.backups.sealed_file import CopyProblem
from app.records.store.problems import StoreProblem
from app.settings.config import Settings


def before_change(settings: Settings, engine: Engine, now: datetime) -> Path:
    """Make a backup and return its folder: the shop's own, else the one beside the data folder.

    Raises StoreProblem when neither can be written: then nothing is changed.
    """
    zone, said = _shop(engine)
    first, beside = chosen_folder(settings.data, said), default_folder(settings.data)
    for target in dict.fromkeys((first, beside)):
        try:
            make_backup(settings, target, now, zone)
        except CopyProblem as problem:
            why = str(problem)
        else:
            return target
    raise StoreProblem(
        f"The records must be brought up to date, and no backup could be made first. {why} "
        "Nothing was changed."
    )


def _shop(engine: Engine) -> tuple[ZoneInfo, str]:
    """Return the shop's zone and chosen folder, from whatever shape its table has."""
    with engine.connect() as connection:
        table = Table("shop", MetaData(), autoload_with=connection)
        row = connection.execute(table.select()).mappings().first()
    return ZoneInfo(row["timezone"] if row else "UTC"), str(row.get("backup_folder") or "") if row else ""
