"""How the shop's backups stand: for their page, for Today and for closing the day."""

import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlmodel import Session, col, select

from app.records.backups import backup
from app.records.backups.recovery import Sheet, read_sheets
from app.records.setup.shop import shop_row
from app.records.store.chores import LastRuns, failing, last_runs
from app.records.store.house import House
from app.records.store.problems import StoreProblem
from app.records.tables.house import TrailRow
from app.records.tables.keeping import ChoreRunRow

BACKUP, REHEARSAL, VERIFY = "backup", "rehearsal", "verify"
# A daily backup, and two hours for a computer that was switched on late.
OLD = timedelta(hours=26)


@dataclass(frozen=True)
class BackupState:
    """Folder, runs and sheet, as they are now. same_disk None: the folder is not there."""

    folder: Path
    beside: bool
    same_disk: bool | None
    runs: dict[str, LastRuns]
    sheet: Sheet | None
    # The file of the sheets cannot be read.
    broken: bool
    old: bool

    def run(self, chore: str) -> ChoreRunRow | None:
        """The newest run of a chore."""
        return self.runs[chore].newest if chore in self.runs else None

    @property
    def last_good(self) -> datetime | None:
        """When the newest backup that was checked was begun; None when there is none."""
        return self.runs[BACKUP].last_good if BACKUP in self.runs else None


def backup_state(session: Session, house: House) -> BackupState:
    """Return how the backups stand."""
    row, data = shop_row(session), house.settings.data
    said = row.backup_folder if row else ""
    folder, runs = backup.chosen_folder(data, said), last_runs(session)
    try:
        sheets, broken = read_sheets(data), False
    except StoreProblem:
        sheets, broken = [], True
    return BackupState(
        folder, not said, _same_disk(data, folder), runs, sheets[-1] if sheets else None, broken,
        _is_old(session, runs, house.clock()),
    )  # fmt: skip


def to_tell(session: Session, house: House) -> list[str]:
    """Return what the manager must be told of backups and chores today, in plain sentences.

    A demo tells only what went wrong: its chores run when they are asked for.
    """
    state = backup_state(session, house)
    said = [f"{_called(run)} did not work: {run.said}" for run in failing(session, state.runs)]
    if house.settings.demo:
        return said
    if state.old:
        newest = state.last_good
        said.append(
            "No backup was ever made."
            if newest is None
            else f"The newest backup is of {newest:%d %b, %H:%M} UTC."
        )
    if state.sheet is not None and not state.sheet.printed_at:
        said.append("The recovery sheet is not printed. Without it a lost computer is lost for good.")
    return said


def _is_old(session: Session, runs: dict[str, LastRuns], now: datetime) -> bool:
    good = runs[BACKUP].last_good if BACKUP in runs else None
    if good is None:
        good = session.exec(select(TrailRow.at).order_by(col(TrailRow.id)).limit(1)).first()
    return good is not None and now - good > OLD


def _same_disk(data: Path, folder: Path) -> bool | None:
    try:
        return os.stat(folder).st_dev == os.stat(data).st_dev
    except OSError:
        return None


def _called(run: ChoreRunRow) -> str:
    names = {BACKUP: "The backup", REHEARSAL: "The rehearsal of a backup", VERIFY: "The check of the records"}
    return names.get(run.chore, "A nightly chore")
