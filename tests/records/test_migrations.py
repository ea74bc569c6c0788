"""Models and migrations agree, add-only tables refuse change, and doubtful folders are not opened."""

from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from sqlmodel import SQLModel

from app.records import tables
from app.records.db import make_engine
from app.records.house import DATABASE, open_house
from app.records.migrate import to_newest
from app.records.problems import StoreProblem
from app.records.tables.base import Row
from app.settings.config import Settings

assert tables


def test_models_and_migrations_agree(tmp_path: Path) -> None:
    engine = make_engine(f"sqlite:///{tmp_path / 'empty.sqlite3'}")
    to_newest(engine)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True, "render_as_batch": True})
        assert compare_metadata(context, SQLModel.metadata) == []
    engine.dispose()


def test_every_add_only_table_refuses_to_be_changed(tmp_path: Path) -> None:
    engine = make_engine(f"sqlite:///{tmp_path / 'empty.sqlite3'}")
    to_newest(engine)
    add_only = {
        str(kind.__tablename__)
        for kind in Row.__subclasses__()
        if kind.add_only and hasattr(kind, "__tablename__")
    }
    assert len(add_only) >= 15
    with engine.connect() as connection:
        found = connection.execute(
            text("SELECT tbl_name, sql FROM sqlite_master WHERE type = 'trigger'")
        ).all()
    for name in add_only:
        verbs = {
            verb for verb in ("UPDATE", "DELETE") for table, sql in found if table == name and verb in sql
        }
        assert verbs == {"UPDATE", "DELETE"}, name
    engine.dispose()


def test_the_trail_cannot_be_rewritten(tmp_path: Path) -> None:
    house = open_house(Settings(data=tmp_path / "shop"))
    from app.actions.act import PROGRAM, acting
    from app.records.tables.house import SiteRow

    with acting(house, PROGRAM, "made_for_a_test") as act:
        act.add(SiteRow(name="Long Jetty"))
    for words in (
        "UPDATE trail SET who = 'x'",
        "DELETE FROM trail",
        "REPLACE INTO trail SELECT * FROM trail",
    ):
        with pytest.raises(DatabaseError, match="add only"), house.store.engine.begin() as connection:
            connection.execute(text(words))
    house.close()


def test_a_missing_database_is_never_a_new_empty_shop(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    open_house(Settings(data=folder)).close()
    (folder / DATABASE).unlink()
    with pytest.raises(StoreProblem, match="no empty shop was made"):
        open_house(Settings(data=folder))


def test_one_program_for_each_folder_and_no_mixing_of_demo_and_shop(tmp_path: Path) -> None:
    house = open_house(Settings(data=tmp_path / "shop"))
    with pytest.raises(StoreProblem, match="already runs"):
        open_house(Settings(data=tmp_path / "shop"))
    house.close()
    with pytest.raises(StoreProblem, match="holds a real shop"):
        open_house(Settings(data=tmp_path / "shop", demo=True))


def test_a_folder_open_to_others_a_foreign_one_and_a_newer_one_are_refused(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    open_house(Settings(data=folder)).close()
    (folder / "secret.key").chmod(0o644)
    with pytest.raises(StoreProblem, match="chmod 600"):
        open_house(Settings(data=folder))
    (folder / "secret.key").chmod(0o600)
    engine = make_engine(f"sqlite:///{folder / DATABASE}")
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    with pytest.raises(StoreProblem, match="newer Daybuoy"):
        open_house(Settings(data=folder))
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "one.jpg").write_bytes(b"x")
    with pytest.raises(StoreProblem, match="not empty"):
        open_house(Settings(data=tmp_path / "photos"))
