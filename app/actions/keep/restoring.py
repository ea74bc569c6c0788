"""Putting a backup back: sessions end, the trail says so, and the new folder takes the old one's place."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlmodel import col, select

from app.actions.act import PROGRAM, acting
from app.actions.health.retention import repeat_erasures
from app.records.backups import restore
from app.records.backups.backup import Checked, Say
from app.records.store import folder
from app.records.store.house import open_house
from app.records.store.problems import StoreProblem
from app.records.tables.people import VisitRow
from app.settings.clock import Clock, wall_clock
from app.settings.config import Settings


@dataclass(frozen=True)
class Restored:
    """What was put back, and where the old records lie now."""

    checked: Checked
    aside: Path
    sessions_ended: int


def put_back(
    settings: Settings,
    given: restore.Source,
    key_copy: Path | None = None,
    clock: Clock = wall_clock,
    say: Say = lambda _: None,
) -> Restored:
    """Put a backup in the place of the live records; raises StoreProblem, and then nothing was changed.

    Refused while the program runs on the folder. Cut short at any moment, the old records are there whole,
    or the next start finishes what was ready.
    """
    data, kind = settings.data, given.header.house_kind
    try:
        if not (data / folder.MARK).exists():
            folder.begin_restore(data, kind)
        with folder.take_lock(data):
            restore.finish_swap(data)
            _check_kind(data, kind)
            checked = restore.prepare(settings, given, key_copy, say)
            say("Ending all sessions.")
            ended = _note(settings, given, checked, clock)
            say("Changing the old records for the new ones.")
            return Restored(checked, restore.swap(data, clock()), ended)
    except OSError as error:
        raise StoreProblem(
            f"The backup could not be put back ({error.strerror}: {error.filename or data}). "
            "The records are as they were."
        ) from None


def _check_kind(data: Path, kind: str) -> None:
    """Keep demo and shop apart; a folder that waits for its backup takes any."""
    if not folder.read_mark(data).get("restoring"):
        folder.check_kind(data, kind)


def _note(settings: Settings, given: restore.Source, checked: Checked, clock: Clock) -> int:
    """Open the new folder as the program will: end sessions, write down what was put back, erase again."""
    new = settings.model_copy(
        update={"data": settings.data / restore.NEW, "demo": given.header.house_kind == "demo"}
    )
    house = open_house(new, clock, back_up=False)
    try:
        with acting(house, PROGRAM, "restore_backup") as act:
            act.reason = _until(checked.header.reaches, checked.header.made, checked.entries)
            visits = act.session.exec(select(VisitRow).where(col(VisitRow.ended_at).is_(None))).all()
            for visit in visits:
                visit.ended_at, visit.why_ended = act.now, "restored"
                act.session.add(visit)
        repeat_erasures(house)
        return len(visits)
    finally:
        house.close()


def _until(reaches: str, made: datetime, entries: int) -> str:
    return f"Backup of {made:%Y-%m-%d %H:%M} UTC; {entries} entries, the newest of {reaches or 'none'}."
