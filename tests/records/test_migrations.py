"""Models and migrations agree, add-only tables refuse change, and doubtful folders are not opened."""

from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from sqlmodel import SQLModel

from app.records import tables
from app.records.store.db import make_engine
from app.records.store.house import DATABASE, open_house
from app.records.store.migrate import config_for, to_newest
from app.records.store.problems import StoreProblem
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


def test_rows_of_a_shop_that_is_in_use_stay_and_get_defaults(tmp_path: Path) -> None:
    """A database of the first release, brought up to date: nothing lost, add-only tables still refuse."""
    from alembic import command

    engine = make_engine(f"sqlite:///{tmp_path / 'used.sqlite3'}")
    command.upgrade(config_for(engine), "0002")
    at = "2026-07-15 08:00:00.000000"
    with engine.begin() as connection:
        for words in (
            "INSERT INTO cylinder (id, number, litres, working_pressure_bar, material, owner, "
            "visual_interval_months, pressure_interval_months, retired, version) "
            "VALUES (1, '12', 12, 232, 'steel', '', 12, 60, 0, 1)",
            "INSERT INTO air_test (id, tested_on, report, at, by) "
            f"VALUES (1, '2026-07-01', 'L 7', '{at}', 'Ned')",
            "INSERT INTO site (id, name, confined, water, density_kg_m3, surface_pressure_bar, usual_temp_c, "
            "active, version) VALUES (1, 'Long Jetty', 0, 'salt', 1025.5, 1.01325, 17, 1, 1)",
            "INSERT INTO kit_item (id, kind, number, size, out_of_use_by, out_of_use_why, version) "
            "VALUES (1, 'suit', 'W05', 'M', '', '', 1)",
        ):
            connection.execute(text(words))
    to_newest(engine)
    with engine.connect() as connection:
        assert connection.execute(text("SELECT number, litres FROM cylinder")).all() == [("12", 12.0)]
        assert connection.execute(text("SELECT report, co_ppm FROM air_test")).all() == [("L 7", None)]
        assert connection.execute(text("SELECT density_kg_m3, salinity FROM site")).all() == [(1025.5, None)]
        assert connection.execute(text("SELECT number, cover FROM kit_item")).all() == [("W05", "")]
        assert connection.execute(text("PRAGMA integrity_check")).scalar() == "ok"
    with pytest.raises(DatabaseError, match="add only"), engine.begin() as connection:
        connection.execute(text("UPDATE air_test SET report = 'x'"))
    engine.dispose()
