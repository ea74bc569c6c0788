"""Write a new migration from the difference between the models and the migrations so far.

python migrations/new.py "what it gives"
"""

import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from alembic import command
from alembic.operations.ops import AddColumnOp, MigrationScript
from alembic.script import ScriptDirectory
from sqlalchemy import Column, DefaultClause
from sqlmodel import SQLModel

from app.records import tables
from app.records.store.db import make_engine, sqlite_url
from app.records.store.migrate import config_for, to_newest

assert tables


def with_defaults(_context: Any, _revision: Any, directives: list[MigrationScript]) -> None:
    """Give each new column that may not be empty its model's default, for the rows that are already there."""
    for directive in directives:
        for step in _steps(directive.upgrade_ops):
            if isinstance(step, AddColumnOp) and not step.column.nullable:
                step.column.server_default = _default_of(step.table_name, step.column)


def _steps(ops: Any) -> Iterable[Any]:
    for step in getattr(ops, "ops", ()):
        yield step
        yield from _steps(step)


def _default_of(table: str, column: Column[Any]) -> DefaultClause:
    default = SQLModel.metadata.tables[table].columns[column.name].default
    value = getattr(default, "arg", None)
    if value is None or callable(value):
        sys.exit(f"{table}.{column.name} may not be empty and has no default: rows that are there need one")
    # As a plain value, not as an expression: for that SQLite rebuilds the table, and its triggers are lost.
    return DefaultClause(str(int(value)) if isinstance(value, bool) else str(value))


if __name__ == "__main__":
    if not "".join(sys.argv[1:]).strip():
        sys.exit('Say what it gives: make migration NAME="what it gives"')
    with tempfile.TemporaryDirectory() as folder:
        engine = make_engine(sqlite_url(Path(folder) / "empty.sqlite3"))
        to_newest(engine)
        config = config_for(engine)
        number = len(list(ScriptDirectory.from_config(config).walk_revisions())) + 1
        command.revision(
            config,
            message=sys.argv[1],
            autogenerate=True,
            rev_id=f"{number:04d}",
            process_revision_directives=with_defaults,
        )
        engine.dispose()
