"""One open data folder: the store, the keys, the clock. Opening it refuses anything doubtful."""

import fcntl
import json
import os
import stat
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

from sqlalchemy.exc import DatabaseError

from app.records import migrate
from app.records.db import Store, sqlite_url
from app.records.problems import StoreProblem
from app.records.sealing import KeyRing, MasterKey
from app.settings.clock import Clock, wall_clock
from app.settings.config import VERSION, Settings

MARK = "daybuoy.json"
DATABASE = "shop.sqlite3"
KEYS = "keys.sqlite3"
SECRET = "secret.key"  # noqa: S105 - a file name
LOCK = "lock"
NOTICES_KEPT = 200


@dataclass
class House:
    """Everything a running shop holds open."""

    settings: Settings
    store: Store
    ring: KeyRing
    master: MasterKey
    clock: Clock
    lock: IO[str]
    # What was worth knowing about the newest acts, by trail number, for the page after the post. Not kept.
    notices: dict[int, tuple[str, ...]] = field(default_factory=dict)

    def remember(self, number: int, notices: tuple[str, ...]) -> None:
        """Keep what an act noted until the next page has shown it; old ones make room."""
        if notices:
            self.notices[number] = notices
            while len(self.notices) > NOTICES_KEPT:
                self.notices.pop(next(iter(self.notices)))

    def close(self) -> None:
        """Let go of the store, the keys and the folder's lock."""
        self.store.close()
        self.ring.close()
        self.lock.close()


def open_house(settings: Settings, clock: Clock = wall_clock) -> House:
    """Open the data folder, making it on the very first start; raises StoreProblem in plain words."""
    folder = settings.data
    new = not (folder / MARK).exists()
    if new:
        _make(folder, settings)
    mark = _read_mark(folder)
    if mark.get("kind") != _kind(settings):
        raise StoreProblem(
            f"{folder} holds a {mark.get('kind')} shop, not a {_kind(settings)} one. "
            "Choose another folder with --data."
        )
    _check_private(folder)
    lock = _take_lock(folder)
    try:
        store = _open_store(settings, new=new)
        master = MasterKey(folder / SECRET)
        ring = KeyRing(folder / KEYS, master)
    except BaseException:
        lock.close()
        raise
    return House(settings, store, ring, master, clock, lock)


def _open_store(settings: Settings, *, new: bool) -> Store:
    database = settings.data / DATABASE
    if not settings.database_url and not new and not database.exists():
        raise StoreProblem(
            f"{database} is missing, but this folder was in use. "
            "Put the newest backup back; no empty shop was made."
        )
    store = Store(settings.database_url or sqlite_url(database))
    try:
        migrate.to_newest(store.engine)
    except StoreProblem:
        store.close()
        raise
    except DatabaseError as error:
        store.close()
        kind = type(error.orig).__name__ if error.orig else type(error).__name__
        what = "The database" if settings.database_url else str(database)
        raise StoreProblem(
            f"{what} cannot be used ({kind}). If the file is damaged or read-only, put the newest backup back."
        ) from None
    return store


def _kind(settings: Settings) -> str:
    return "demo" if settings.demo else "real"


def _make(folder: Path, settings: Settings) -> None:
    if folder.exists() and any(folder.iterdir()):
        raise StoreProblem(f"{folder} is not empty and not a shop's data folder. Choose another with --data.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        folder.chmod(0o700)
        MasterKey.make(folder / SECRET)
        mark = {"kind": _kind(settings), "made_by": VERSION}
        (folder / MARK).write_text(json.dumps(mark) + "\n")
    except OSError as error:
        raise StoreProblem(
            f"{folder} cannot be written to ({error.strerror}). Choose another with --data."
        ) from None


def _read_mark(folder: Path) -> dict[str, Any]:
    try:
        mark = json.loads((folder / MARK).read_text())
    except (OSError, ValueError):
        raise StoreProblem(f"{folder / MARK} cannot be read. Put the newest backup back.") from None
    if not isinstance(mark, dict):
        raise StoreProblem(f"{folder / MARK} is not what this program wrote. Put the newest backup back.")
    return mark


def _check_private(folder: Path) -> None:
    for path, allowed in ((folder, 0o700), (folder / SECRET, 0o600)):
        try:
            mode = stat.S_IMODE(path.stat().st_mode)
        except FileNotFoundError:
            raise StoreProblem(
                f"{path} is missing. Without it sealed answers cannot be read; put it back."
            ) from None
        if mode & ~allowed:
            raise StoreProblem(
                f"{path} can be read by others on this computer. Run: chmod {allowed:o} {path}"
            )


def _take_lock(folder: Path) -> IO[str]:
    lock = (folder / LOCK).open("w")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        lock.close()
        raise StoreProblem(
            f"Another Daybuoy already runs on {folder}. Close it first, or use its window."
        ) from None
    lock.write(str(os.getpid()))
    lock.flush()
    return lock
