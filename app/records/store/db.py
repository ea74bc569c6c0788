"""The store: reads see one snapshot, writes queue behind one lock, an answer leaves only after COMMIT."""

import contextlib
import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Engine, event, make_url
from sqlalchemy.exc import DatabaseError as StoreTrouble
from sqlalchemy.exc import OperationalError
from sqlmodel import Session, create_engine

# Pages speak of these without knowing the libraries behind the store.
__all__ = ["Session", "Store", "StoreTrouble", "is_full", "is_ours", "make_engine", "sqlite_url"]

BUSY_WAIT_MS, WIPE_WAIT_MS = 5000, 300
PRAGMAS = (
    "journal_mode=WAL",
    "synchronous=FULL",
    "foreign_keys=ON",
    f"busy_timeout={BUSY_WAIT_MS}",
    "cache_size=-16000",
    "temp_store=MEMORY",
    "trusted_schema=OFF",
    "recursive_triggers=ON",
    "secure_delete=ON",
)
# More than the turns of requests (app.web.turns) and the threads together ever hold.
POOL = {"pool_size": 10, "max_overflow": 20}
# One fixed number that every writer of this program locks in PostgreSQL.
WRITER_LOCK = 0x0DA7B007


def make_engine(url: str | URL) -> Engine:
    """Return an engine whose transactions say BEGIN themselves: the hidden ones sell a place twice."""
    if make_url(url).get_backend_name() != "sqlite":
        return _postgresql(url)
    engine = create_engine(
        url, connect_args={"check_same_thread": False, "timeout": 5}, hide_parameters=True, **POOL
    )

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: Any) -> None:
        connection.isolation_level = None
        for pragma in PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        writes = connection.get_execution_options().get("write")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _postgresql(url: str | URL) -> Engine:
    engine = create_engine(url, hide_parameters=True, pool_pre_ping=True, **POOL)

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        if connection.get_execution_options().get("write"):
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITER_LOCK})")

    return engine


def sqlite_url(path: Path) -> URL:
    """Return the address of a SQLite file, whatever signs its name holds."""
    return URL.create("sqlite", database=str(path))


def look_only(path: Path) -> sqlite3.Connection:
    """Return a connection to a SQLite file that cannot change it; raises sqlite3.Error."""
    connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    connection.execute("PRAGMA query_only=ON")
    return connection


def is_full(trouble: StoreTrouble) -> bool:
    """Return whether there was no room left for a write."""
    said = str(trouble.orig).lower()
    return "full" in said or "no space left" in said


def is_ours(trouble: StoreTrouble) -> bool:
    """Return whether the store is well and refused what this program should not have asked for."""
    return not isinstance(trouble, OperationalError) and type(trouble) is not StoreTrouble


class Store:
    """Hands out reading sessions freely and one writing session at a time."""

    def __init__(self, url: str | URL) -> None:
        self.engine = make_engine(url)
        self._writer = self.engine.execution_options(write=True)
        self._reader = self.engine
        if self.engine.dialect.name == "postgresql":
            # What SQLite's reading sessions are by nature: one snapshot, and no way to write.
            self._reader = self.engine.execution_options(
                isolation_level="REPEATABLE READ", postgresql_readonly=True
            )
        self._lock = threading.Lock()

    @contextlib.contextmanager
    def reading(self) -> Iterator[Session]:
        """Yield a session on one snapshot; nothing it changes is kept."""
        with Session(self._reader, autoflush=False) as session:
            yield session

    @contextlib.contextmanager
    def writing(self) -> Iterator[Session]:
        """Yield the one writing session; commits on the way out, rolls back on an exception."""
        with self._lock, Session(self._writer, expire_on_commit=False) as session, session.begin():
            yield session

    def wipe_log(self) -> bool:
        """Write the write-ahead log into the database and empty it; False while a reader still needs it.

        What was erased is then in neither. A database on a server keeps its own log.
        """
        if self.engine.dialect.name != "sqlite":
            return True
        with self._lock, contextlib.closing(self.engine.raw_connection()) as connection:
            cursor = connection.cursor()
            # Writers wait meanwhile: a page that is being read is not waited for.
            cursor.execute(f"PRAGMA busy_timeout={WIPE_WAIT_MS}")
            found = cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            cursor.execute(f"PRAGMA busy_timeout={BUSY_WAIT_MS}")
        return bool(found is not None and found[0] == 0)

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()
