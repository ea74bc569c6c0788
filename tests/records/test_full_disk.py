"""H3: a full disk answers 507, keeps what was typed, stores nothing half, and writing resumes by itself."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event
from sqlmodel import select

from app.records.store import room, trail
from app.records.store.db import StoreTrouble, is_full, make_engine, sqlite_url
from app.records.store.house import DATABASE, House, open_house
from app.records.store.migrate import to_newest
from app.records.tables.house import SiteRow, UsedKeyRow
from app.settings.config import Settings
from tests.web_world import World, make_world

PAGES_MOST = 1_073_741_823


@pytest.fixture
def world(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[World]:
    """A shop on SQLite, whatever the other tests run against."""
    monkeypatch.delenv("DAYBUOY_TEST_DATABASE_URL", raising=False)
    made = make_world(tmp_path)
    yield made
    made.house.close()


@contextmanager
def full_disk(house: House) -> Iterator[None]:
    """Let the database grow no more, as on a disk without room."""

    def lid(pages: int) -> Any:
        return lambda connection: connection.exec_driver_sql(f"PRAGMA max_page_count={pages}")

    shut, opened = lid(1), lid(PAGES_MOST)
    event.listen(house.store.engine, "begin", shut)
    try:
        yield
    finally:
        event.remove(house.store.engine, "begin", shut)
        event.listen(house.store.engine, "begin", opened)


def test_h3_a_full_disk_keeps_what_was_typed_and_writing_resumes(world: World) -> None:
    manager = world.browser("Mona Manager")
    stored = []
    with full_disk(world.house):
        for number in range(200):
            name = f"Quarry {number} " + "x" * 80
            answer = manager.open("/setup/sites").send("add_site", name=name)
            if answer.status != 200:
                break
            stored.append(name)
        assert answer.status == 507
        assert "no room left" in answer.words() and "Traceback" not in answer.text
        fields = dict(answer.form_fields("add_site")[1])
        assert fields["name"] == name
        world.clock.pass_minutes(3)
        assert manager.open("/today").status == 200, "looking is possible all the time"
        nobody = world.browser().open("/sign-in").send("sign_in", name="Dora Desk", secret="wrong words")
        assert nobody.status in (422, 507)
    with world.house.store.reading() as session:
        names = [site.name for site in session.exec(select(SiteRow)) if site.name.startswith("Quarry")]
        assert names == stored
        assert len(list(session.exec(select(UsedKeyRow)))) == len(stored)
        assert trail.first_wrong(session, world.house.master.named("trail")) is None
    assert answer.send("add_site").status == 200, "the same page, sent again without a restart"


def test_h3_the_key_store_without_room_is_told_alike(world: World) -> None:
    world.house.ring._file.execute("PRAGMA max_page_count=1")
    with pytest.raises(StoreTrouble) as caught:
        for number in range(1000):
            world.house.ring.seal(f"guest:{number}", "field", "value")
    assert is_full(caught.value) and "value" not in str(caught.value)


def test_h3_little_room_is_told_before_it_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, world: World
) -> None:
    assert room.megabytes_left(tmp_path) is None or room.megabytes_left(tmp_path) < 500
    usage = room.shutil.disk_usage(tmp_path)
    monkeypatch.setattr(room.shutil, "disk_usage", lambda _: usage._replace(free=499_999_999))
    assert room.megabytes_left(tmp_path) == 499
    assert "499 MB" in world.browser("Mona Manager").open("/today").words()
    assert "499 MB" not in world.browser("Dora Desk").open("/today").words()
    monkeypatch.setattr(room.shutil, "disk_usage", lambda _: usage._replace(free=500_000_000))
    assert room.megabytes_left(tmp_path) is None
    assert "MB" not in world.browser("Mona Manager").open("/today").words()


def test_migrations_are_numbered_so_that_the_newest_is_known_by_name(tmp_path: Path) -> None:
    from alembic.script import ScriptDirectory

    from app.records.store.migrate import config_for, newest

    engine = make_engine(sqlite_url(tmp_path / DATABASE))
    assert ScriptDirectory.from_config(config_for(engine)).get_current_head() == newest()
    to_newest(engine)
    to_newest(engine)
    engine.dispose()
    open_house(Settings(data=tmp_path / "shop")).close()
