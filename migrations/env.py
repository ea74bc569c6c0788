"""Alembic's entry: uses the engine it is handed; SQLite runs each migration as one whole transaction."""

from alembic import context
from alembic.util import CommandError
from sqlalchemy import Engine, event
from sqlmodel import SQLModel

from app.records import tables

engine: Engine = context.config.attributes["engine"]
assert tables


def _whole(connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE")


if engine.dialect.name == "sqlite":
    # A separate engine: foreign keys off, or rebuilding a table would empty the tables that point to it.
    from sqlalchemy import create_engine

    runner = create_engine(engine.url, hide_parameters=True)

    @event.listens_for(runner, "connect")
    def _prepare(connection, _record) -> None:
        connection.isolation_level = None
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("PRAGMA foreign_keys=OFF")

    event.listen(runner, "begin", _whole)
else:
    runner = engine

with runner.connect() as connection:
    context.configure(
        connection=connection,
        target_metadata=SQLModel.metadata,
        render_as_batch=True,
        transactional_ddl=True,
        compare_type=True,
    )
    with context.begin_transaction():
        context.run_migrations()
    if engine.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise CommandError(f"foreign keys are broken in {broken[0][0]}")
    connection.commit()
if runner is not engine:
    runner.dispose()
