"""One consistent copy of the whole store as a SQLite file, while the shop goes on writing."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, MetaData, Table, func, select, text

from app.records.store import migrate
from app.records.store.db import look_only, make_engine, sqlite_url

AT_ONCE = 2000


def copy_sqlite(source: Path, target: Path) -> None:
    """Copy a SQLite file as of one moment through SQLite's own online backup; raises sqlite3.Error.

    Every write acknowledged before it begins is in the copy. Pages that are free stay as they are: with
    secure_delete they hold nothing.
    """
    target.touch(mode=0o600)
    with closing(look_only(source)) as live, closing(sqlite3.connect(target)) as copy:
        # In one step: a copy in several begins again whenever somebody writes in between.
        live.backup(copy, pages=-1)
        copy.execute("PRAGMA journal_mode=DELETE")


def copy_server(url: str, target: Path) -> None:
    """Copy a PostgreSQL store into a SQLite file of the same shape, table by table in one snapshot.

    The snapshot is a read-only transaction (REPEATABLE READ). A copy as rows and not as the server's own
    dump opens without that server: it is checked, rehearsed and restored as every other backup is.
    """
    target.touch(mode=0o600)
    server, copy = make_engine(url), make_engine(sqlite_url(target))
    try:
        snapshot = server.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
        with snapshot.connect() as reading:
            migrate.to_revision(
                copy, str(reading.execute(text("SELECT version_num FROM alembic_version")).scalar())
            )
            with copy.connect() as writing:
                # Rows come table by table, links before what they lead to.
                writing.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
                copy_rows(reading, writing)
                writing.commit()
        with copy.connect() as connection:
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    finally:
        server.dispose()
        copy.dispose()


def fill_server(source: Path, engine: Engine) -> None:
    """Fill an empty PostgreSQL database with the rows of a copy, and let its numbering go on from there."""
    copy = make_engine(sqlite_url(source))
    try:
        with copy.connect() as reading:
            migrate.to_revision(
                engine, str(reading.execute(text("SELECT version_num FROM alembic_version")).scalar())
            )
            with engine.begin() as writing:
                # Tables are filled in the order of their links, whose checks only a superuser may put off.
                for table in copy_rows(reading, writing):
                    if "id" in table.c and table.c.id.primary_key and table.c.id.autoincrement:
                        newest = writing.execute(select(func.max(table.c.id))).scalar()
                        sequence = func.pg_get_serial_sequence(table.name, "id")
                        writing.execute(select(func.setval(sequence, newest or 1, newest is not None)))
    finally:
        copy.dispose()


def copy_rows(reading: Connection, writing: Connection) -> list[Table]:
    """Copy every row of every table but Alembic's; return the tables. Both stores have the same shape."""
    theirs, ours = MetaData(), MetaData()
    theirs.reflect(reading)
    ours.reflect(writing)
    tables = [table for table in ours.sorted_tables if table.name != "alembic_version"]
    for table in tables:
        source = theirs.tables[table.name]
        rows = reading.execution_options(yield_per=AT_ONCE).execute(source.select())
        for part in rows.mappings().partitions():
            writing.execute(table.insert(), [dict(_stored(row, table)) for row in part])
    return tables


def counts(file: sqlite3.Connection) -> dict[str, int]:
    """Return how many rows each table of a SQLite file holds."""
    asked = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
    names = [name for (name,) in file.execute(asked).fetchall()]
    # Names out of the file itself, quoted: no value is put into the statement.
    return {name: file.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in names}  # noqa: S608


def _stored(row: Any, table: Table) -> Iterator[tuple[str, Any]]:
    """Yield a row's values as the other store keeps them: instants in UTC, without a zone in SQLite."""
    for name, value in row.items():
        if isinstance(value, datetime):
            at = value if value.tzinfo else value.replace(tzinfo=UTC)
            zoned = getattr(table.c[name].type, "timezone", False)
            yield name, at.astimezone(UTC) if zoned else at.astimezone(UTC).replace(tzinfo=None)
        else:
            yield name, value
