"""Bring a database to the newest shape, or refuse one that is newer than this program."""

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Engine, inspect, text

from app.records.problems import StoreProblem
from app.settings.config import MIGRATIONS


def config_for(engine: Engine) -> Config:
    """Return Alembic's settings for this engine, without any ini file."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["engine"] = engine
    return config


def to_newest(engine: Engine) -> None:
    """Run every migration this database has not seen; raises StoreProblem when it is newer than we are."""
    config = config_for(engine)
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    with engine.connect() as connection:
        seen: set[str] = set()
        if inspect(connection).has_table("alembic_version"):
            seen = set(connection.execute(text("SELECT version_num FROM alembic_version")).scalars())
    if seen - known:
        raise StoreProblem(
            "The data was written by a newer Daybuoy. Update the program; nothing was changed."
        )
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        raise StoreProblem(f"The database could not be brought up to date: {error}") from None
