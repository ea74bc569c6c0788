"""One open data folder: the store, the keys, the clock. Opening it refuses anything doubtful."""

import sqlite3
from contextlib import closing
from dataclasses import dataclass, field
from datetime import datetime
from typing import IO

from sqlalchemy import inspect, text
from sqlalchemy.exc import DatabaseError
from sqlmodel import Session

from app.records.backups import backup_first, restore
from app.records.backups.erasures import Erasures
from app.records.keep import search_entries
from app.records.plans.breathing_log import BreathingLog
from app.records.store import folder, migrate, trail
from app.records.store.at_work import AtWork
from app.records.store.db import Store, look_only, sqlite_url
from app.records.store.folder import DATABASE, KEYS, MARK, SECRET
from app.records.store.head import Head
from app.records.store.problems import StoreProblem
from app.records.store.sealing import KeyRing, MasterKey
from app.settings.clock import Clock, wall_clock
from app.settings.config import Settings

__all__ = ["DATABASE", "KEYS", "MARK", "SECRET", "House", "open_house"]
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
    head: Head
    # What was worth knowing about the newest acts, by trail number, for the page after the post. Not kept.
    notices: dict[int, tuple[str, ...]] = field(default_factory=dict)
    breathing: BreathingLog = field(default_factory=BreathingLog)
    at_work: AtWork = field(default_factory=AtWork)

    @property
    def erasures(self) -> Erasures:
        """The list of who was erased, beside the database."""
        return Erasures(self.settings.data, self.master)

    def remember(self, number: int, notices: tuple[str, ...]) -> None:
        """Keep what an act noted until the next page has shown it; old ones make room."""
        if notices:
            self.notices[number] = notices
            while len(self.notices) > NOTICES_KEPT:
                self.notices.pop(next(iter(self.notices)))

    def close(self) -> None:
        """End what is at work, and let go of the store, the keys and the folder's lock."""
        self.at_work.stop()
        self.store.close()
        self.ring.close()
        self.lock.close()


def open_house(settings: Settings, clock: Clock = wall_clock, *, back_up: bool = True) -> House:
    """Open the data folder, making it on the very first start; raises StoreProblem in plain words.

    back_up: whether a backup is made before records of an earlier program are brought up to date.
    """
    try:
        return _open(settings, clock, back_up=back_up)
    except OSError as error:
        raise StoreProblem(
            f"{settings.data} cannot be used ({error.strerror}). "
            "Choose another with --data, or let this program write there."
        ) from None


def _open(settings: Settings, clock: Clock, *, back_up: bool) -> House:
    where, kind = settings.data, "demo" if settings.demo else "real"
    folder.check_local(where)
    if restore.cut_short(where):
        with folder.take_lock(where):
            restore.finish_swap(where)
    new = folder.is_new(where)
    if new:
        folder.make(where, kind)
    folder.check_kind(where, kind)
    folder.check_private(where)
    lock = folder.take_lock(where)
    try:
        master = folder.open_key(where)
        store = _open_store(settings, master, clock() if back_up and not new else None, new=new)
        try:
            ring = _open_ring(settings, master, new=new)
        except BaseException:
            store.close()
            raise
        if new:
            folder.finish(where, kind, master)
    except BaseException:
        lock.close()
        raise
    return House(settings, store, ring, master, clock, lock, Head(where, master))


def _open_store(settings: Settings, master: MasterKey, back_up_at: datetime | None, *, new: bool) -> Store:
    database = settings.data / DATABASE
    if not settings.database_url and not new and not database.exists():
        raise StoreProblem(
            f"{database} is missing, but this folder was in use. "
            "Put the newest backup back; no empty shop was made."
        )
    store = Store(settings.database_url or sqlite_url(database))
    try:
        if not new:
            _check_in_use(settings)
        if back_up_at is not None and migrate.is_behind(store.engine):
            backup_first.before_change(settings, store.engine, back_up_at)
        migrate.to_newest(store.engine)
        if settings.database_url:
            _check_owner(store, master)
        with store.writing() as session:
            # A read-only file says so only when it is really written to.
            session.execute(text("UPDATE alembic_version SET version_num = version_num"))
            search_entries.fill_missing(session)
    except StoreProblem:
        store.close()
        raise
    except (DatabaseError, sqlite3.DatabaseError) as error:
        store.close()
        kind = type(getattr(error, "orig", None) or error).__name__
        raise StoreProblem(
            f"{_called(settings)} cannot be used ({kind}). "
            "If the file is damaged or read-only, put the newest backup back."
        ) from None
    return store


def _check_in_use(settings: Settings) -> None:
    """Refuse a store that was in use and now is empty, cut or another program's, without touching it."""
    if settings.database_url:
        store = Store(settings.database_url)
        with store.engine.connect() as connection:
            holds = inspect(connection).has_table("alembic_version")
        store.close()
        damaged = False
    else:
        with closing(look_only(settings.data / DATABASE)) as file:
            asked = "SELECT count(*) FROM sqlite_master WHERE name = 'alembic_version'"
            holds = bool(file.execute(asked).fetchone()[0])
            damaged = file.execute("PRAGMA quick_check(1)").fetchone()[0] != "ok"
    if damaged:
        raise StoreProblem(f"{_called(settings)} is damaged. Put the newest backup back.")
    if not holds:
        raise StoreProblem(
            f"{_called(settings)} does not hold this shop's records, but this folder was in use. "
            "Put the newest backup back; no empty shop was made."
        )


def _check_owner(store: Store, master: MasterKey) -> None:
    """Refuse a server's database that another folder's key wrote: its sealed values could not be opened."""
    with Session(store.engine) as session:
        if not trail.newest_fits(session, master.named("trail")):
            raise StoreProblem(
                "The database of DAYBUOY_DATABASE_URL belongs to another data folder. "
                "Name that folder with --data, or an empty database."
            )


def _open_ring(settings: Settings, master: MasterKey, *, new: bool) -> KeyRing:
    keys = settings.data / KEYS
    if not new and not keys.exists():
        raise StoreProblem(f"{keys} is missing. Without it sealed answers cannot be read; put it back.")
    try:
        return KeyRing(keys, master)
    except sqlite3.Error as error:
        raise StoreProblem(
            f"{keys} cannot be used ({type(error).__name__}). "
            "If the file is damaged or read-only, put the newest backup back."
        ) from None


def _called(settings: Settings) -> str:
    return "The database" if settings.database_url else str(settings.data / DATABASE)
