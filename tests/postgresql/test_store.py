"""The same shop on PostgreSQL: what SQLite gives by nature is held here by locks, triggers and snapshots."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from sqlmodel import SQLModel, col, func, select

from app.actions.act import PROGRAM, acting
from app.records import tables
from app.records.store import trail
from app.records.store.check import check_folder, short_head
from app.records.store.db import Store, make_engine
from app.records.store.house import open_house
from app.records.store.migrate import to_newest
from app.records.store.problems import StoreProblem
from app.records.tables.base import Row
from app.records.tables.house import SiteRow, TrailRow
from app.settings.config import Settings
from seed_demo.make import open_demo
from tests.server_world import ROOT, Visitor, at_once, served_here, typed
from tests.web_world import START, World, empty_database, make_world

assert tables


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    """The small shop of the tests, on the server."""
    made = make_world(tmp_path)
    assert made.house.store.engine.dialect.name == "postgresql", "run through tests/postgresql/cluster.py"
    yield made
    made.house.close()


@pytest.fixture
def address() -> str:
    """The address of a database with nothing in it."""
    return empty_database()


def test_migrations_run_twice_and_agree_with_the_models(address: str) -> None:
    engine = make_engine(address)
    to_newest(engine)
    to_newest(engine)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, SQLModel.metadata) == []
    engine.dispose()


def test_f1_add_only_tables_refuse_every_change(world: World) -> None:
    kinds = [str(kind.__tablename__) for kind in Row.__subclasses__() if kind.add_only]
    assert "trail" in kinds and len(kinds) > 15
    for name in kinds:
        key = "key" if name == "used_key" else "id"
        for words in (f'UPDATE "{name}" SET {key} = {key}', f'DELETE FROM "{name}"', f'TRUNCATE "{name}"'):
            with (
                pytest.raises(DatabaseError, match=r"add only|foreign key"),
                world.house.store.engine.begin() as c,
            ):
                c.execute(text(words))


def test_e3_writers_in_two_programs_queue_behind_one_lock(world: World) -> None:
    url = world.house.settings.database_url or ""
    code = (
        "import sys, time\nfrom app.records.store.db import Store\n"
        "from app.records.tables.house import SiteRow\n"
        "from sqlmodel import func, select\nstore = Store(sys.argv[1])\n"
        "for turn in range(15):\n"
        "    with store.writing() as session:\n"
        "        seen = session.exec(select(func.count()).select_from(SiteRow)).one()\n"
        "        time.sleep(0.005)\n"
        "        session.add(SiteRow(name=f'number {seen}'))\n"
        "store.close()\n"
    )
    writers = [subprocess.Popen([sys.executable, "-c", code, url], cwd=ROOT) for _ in range(2)]
    assert [writer.wait(60) for writer in writers] == [0, 0], "a number seen twice would be a name used twice"
    with world.house.store.reading() as session:
        assert session.exec(select(func.count()).select_from(SiteRow)).one() == 32


def test_readers_see_one_snapshot_and_cannot_write(world: World) -> None:
    store: Store = world.house.store
    with store.reading() as session:
        before = session.exec(select(func.count()).select_from(SiteRow)).one()
        with store.writing() as writer:
            writer.add(SiteRow(name="Quarry"))
        assert session.exec(select(func.count()).select_from(SiteRow)).one() == before
        with pytest.raises(DatabaseError, match="read-only"):
            session.execute(text("DELETE FROM site"))
    with store.reading() as session:
        assert session.exec(select(func.count()).select_from(SiteRow)).one() == before + 1


def test_e2_e3_races_over_real_connections(world: World) -> None:
    with served_here(world) as port:
        managers = [Visitor(port).sign_in("Mona Manager") for _ in range(2)]
        to, pairs = managers[0].form("/setup/sites", "add_site")
        same = typed(pairs, name="Quarry")
        assert {one[0] for one in at_once(*[lambda: managers[0].post(to, same)] * 4)} == {303}
        forms = [one.form("/setup/sites", "edit_site", "/setup/sites/1") for one in managers]
        answers = at_once(
            *[
                lambda one=one, form=form, name=name: one.post(form[0], typed(form[1], name=name))
                for one, form, name in zip(managers, forms, ("North Jetty", "South Jetty"), strict=True)
            ]
        )
        assert sorted(answer[0] for answer in answers) == [303, 409]
        # More at once than there are connections: pages wait their turn and none is refused.
        assert set(at_once(*[lambda: managers[0].get("/today")[0]] * 80)) == {200}
    with world.house.store.reading() as session:
        assert session.exec(select(func.count()).where(TrailRow.act == "add_site")).one() == 1
        assert trail.first_wrong(session, world.house.master.named("trail")) is None


def test_verify_reads_the_server_and_finds_what_was_changed(world: World) -> None:
    settings = world.house.settings
    with world.house.store.reading() as session:
        code = short_head(*trail.head(session))
    assert check_folder(settings, code) == check_folder(settings)
    assert check_folder(settings)[0] is None
    with world.house.store.engine.begin() as connection:
        connection.execute(text("ALTER TABLE trail DISABLE TRIGGER ALL"))
        connection.execute(text("UPDATE trail SET who = 'Somebody' WHERE id = 1"))
    wrong, _ = check_folder(settings)
    assert wrong is not None and "entry 1" in wrong


def test_h2_a_database_of_another_folder_or_an_emptied_one_is_refused(
    world: World, tmp_path: Path, address: str
) -> None:
    taken = world.house.settings.database_url
    with pytest.raises(StoreProblem, match="belongs to another data folder"):
        open_house(Settings(data=tmp_path / "other", database_url=taken))
    world.house.close()
    with pytest.raises(StoreProblem, match="no empty shop was made"):
        open_house(Settings(data=tmp_path / "data", database_url=address))
    for nowhere in (f"{address}0", "postgresql://shop:hushhush@/shop?host=/nowhere"):
        with pytest.raises(StoreProblem, match="cannot be used") as caught:
            open_house(Settings(data=tmp_path / "data", database_url=nowhere))
        assert "hushhush" not in str(caught.value)
    open_house(Settings(data=tmp_path / "data", database_url=taken)).close()


def test_h2_a_first_start_without_the_server_goes_on_once_it_is_there(tmp_path: Path, address: str) -> None:
    folder = tmp_path / "shop"
    with pytest.raises(StoreProblem, match="cannot be used"):
        open_house(Settings(data=folder, database_url=f"{address}0"))
    house = open_house(Settings(data=folder, database_url=address))
    with acting(house, PROGRAM, "made_for_a_test") as act:
        act.add(SiteRow(name="Long Jetty"))
    house.close()
    assert check_folder(Settings(data=folder, database_url=address))[0] is None


def test_the_whole_demo_is_told_on_the_server(tmp_path: Path, address: str) -> None:
    house = open_demo(Settings(data=tmp_path / "demo", database_url=address, demo=True), lambda: START)
    with house.store.reading() as session:
        newest = session.exec(select(TrailRow).order_by(col(TrailRow.id).desc()).limit(1)).one()
        assert (newest.id or 0) > 300
        assert trail.first_wrong(session, house.master.named("trail")) is None
    house.close()
