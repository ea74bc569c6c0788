"""Backups as the shop runs them: the daily one, a rehearsal, checking the records, folder and sheet."""

import os
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from app.actions.act import Act, Invalid
from app.actions.chore import ChoreFailed
from app.records.backups import backup, recovery, restore
from app.records.setup import shop as shop_records
from app.records.store import check
from app.records.store.at_work import Say
from app.records.store.house import House
from app.records.store.problems import NotHere, StoreProblem

KEEP_APART = "Choose a folder outside the data folder: a backup that is lost with the records is none."


def back_up(house: House, now: datetime, say: Say) -> str:
    """Make the backup into the shop's folder and check it; raises ChoreFailed."""
    target, zone = _where(house)
    try:
        made = backup.make_backup(house.settings, target, now, zone, say)
    except StoreProblem as problem:
        raise ChoreFailed(str(problem)) from None
    return f"{made.words}. Opened and checked in {target}."


def rehearse(house: House, now: datetime, say: Say) -> str:  # noqa: ARG001 - every chore is handed the time
    """Open the newest backup as a restore would, with what lies beside it; raises ChoreFailed."""
    target, _ = _where(house)
    newest = backup.copies(target, backup.DATA)[:1]
    if not newest:
        raise ChoreFailed(f"There is no backup in {target} yet. Make one first.")
    try:
        done = restore.rehearse(house.settings, restore.source(house.settings.data, newest[0].path), say)
    except StoreProblem as problem:
        raise ChoreFailed(str(problem)) from None
    return f"{newest[0].path.name} can be put back. {done.words}."


def verify(house: House, now: datetime, say: Say) -> str:  # noqa: ARG001 - every chore is handed the time
    """Check the store, the trail and every record against it; raises ChoreFailed with what is wrong."""
    say("Checking the records against the trail.")
    wrong, said = check.check_folder(house.settings)
    if wrong is not None:
        raise ChoreFailed(wrong)
    return said


def choose_folder(act: Act, version: int | None, typed: str) -> None:
    """Choose where backups go, empty for beside the data folder; raises Invalid with what to do."""
    row = shop_records.shop_row(act.session)
    if row is None:
        raise NotHere("the shop is not set up")
    said = typed.strip()
    if said:
        _check_folder(act.house.settings.data, Path(said).expanduser())
    act.edit(row, version, {"backup_folder": said}, {"backup_folder": "Folder for backups"})


def sheet_printed(act: Act, number: int, group: str) -> None:
    """Note that the recovery sheet is on paper, proved by its last group; raises Invalid, NotHere."""
    data = act.house.settings.data
    sheet = recovery.newest_sheet(data, act.now)
    if sheet.number != number or not sheet.words:
        raise NotHere(f"sheet {number}")
    last = sheet.words.split()[-1]
    if group.strip().upper() != last:
        raise Invalid(
            {"last_group": "This is not the last group on the paper. Look at it and type it again."}
        )
    act.about = ("recovery_sheet", str(number))
    recovery.mark_printed(data, number, act.actor.name, act.now)


def new_sheet(act: Act, reason: str) -> None:
    """Make a new recovery sheet, under which backups are made from now on."""
    act.reason = reason
    target, _ = _where(act.house)
    named = [one.header.sheet for one in backup.copies(target, backup.DATA)]
    sheet = recovery.add_sheet(act.house.settings.data, act.now, max(named, default=0))
    act.about = ("recovery_sheet", str(sheet.number))


def _where(house: House) -> tuple[Path, ZoneInfo]:
    with house.store.reading() as session:
        row, shop = shop_records.shop_row(session), shop_records.the_shop(session)
    return backup.chosen_folder(house.settings.data, row.backup_folder if row else ""), shop.zone


def _check_folder(data: Path, folder: Path) -> None:
    sentence = ""
    if not folder.is_absolute():
        sentence = "Write the whole path, for example /media/backup-disk/daybuoy."
    elif data == folder or data in folder.parents:
        sentence = KEEP_APART
    elif not folder.is_dir():
        sentence = "There is no such folder. Make it first; if it is on another disk, plug that in."
    elif not os.access(folder, os.W_OK | os.X_OK):
        sentence = "This program may not write there. Choose another, or let it write there."
    if sentence:
        raise Invalid({"folder": sentence})
