"""Bring a database to the newest shape, or refuse one that is newer than this program."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from sqlalchemy import Engine, inspect, text

from app.records.store.problems import StoreProblem
from app.settings.config import MIGRATIONS

if TYPE_CHECKING:
    from alembic.config import Config


def newest() -> str:
    """Return the newest shape this program knows: migrations are numbered in their files' names."""
    return max(path.name.partition("_")[0] for path in (MIGRATIONS / "versions").glob("[0-9]*.py"))


def config_for(engine: Engine) -> "Config":
    """Return Alembic's settings for this engine, without any ini file."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["engine"] = engine
    return config


def is_behind(engine: Engine) -> bool:
    """Return whether a database holds the shape of an earlier program and will be changed."""
    with engine.connect() as connection:
        if not inspect(connection).has_table("alembic_version"):
            return False
        seen = set(connection.execute(text("SELECT version_num FROM alembic_version")).scalars())
    return bool(seen) and seen != {newest()} and all(known(one) for one in seen)


def to_newest(engine: Engine) -> None:
    """Run every migration this database has not seen; raises StoreProblem when it is newer than we are."""
    with engine.connect() as connection:
        seen: set[str] = set()
        if inspect(connection).has_table("alembic_version"):
            seen = set(connection.execute(text("SELECT version_num FROM alembic_version")).scalars())
    if seen == {newest()}:
        return
    # Loaded only when there is something to do: a start after a kill must be quick.
    from alembic import command
    from alembic.script import ScriptDirectory
    from alembic.util import CommandError

    config = config_for(engine)
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    if seen - known:
        raise StoreProblem(
            "The data was written by a newer Daybuoy. Update the program; nothing was changed."
        )
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        raise StoreProblem(f"The database could not be brought up to date: {error}") from None


def to_revision(engine: Engine, revision: str) -> None:
    """Give an empty database the shape of an earlier program, for a copy that was made by it."""
    from alembic import command

    command.upgrade(config_for(engine), revision)


def known(revision: str) -> bool:
    """Return whether this program knows a shape; an unknown one was written by a newer program."""
    return any(path.name.startswith(f"{revision}_") for path in (MIGRATIONS / "versions").glob("[0-9]*.py"))


def add_only(op: Any, tables: Iterable[str]) -> None:
    """Make the store itself refuse to change or remove rows of ``tables``; ``op``: Alembic's operations.

    For migrations that give new add-only tables. Rebuilding such a table on SQLite drops what this made.
    """
    for table in tables:
        if op.get_bind().dialect.name == "sqlite":
            for verb in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is add only'); END"
                )
        else:
            op.execute(
                f"CREATE TRIGGER {table}_add_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
            )
