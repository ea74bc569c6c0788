"""Backups of a shop on PostgreSQL: rows of one snapshot, checked as all are, put into an empty database."""

from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import text

from app.actions.act import PROGRAM, acting
from app.actions.keep.restoring import put_back
from app.records.backups import backup, recovery, restore
from app.records.store.check import check_folder
from app.records.store.house import open_house
from app.records.store.problems import StoreProblem
from app.records.tables.house import SiteRow
from app.settings.config import Settings
from tests.groups_world import book
from tests.web_world import empty_database, make_world, whole_store

# What a restore itself writes.
ENDED = {"visit", "trail"}


def test_a_backup_goes_into_an_empty_database_and_its_numbering_goes_on(tmp_path: Path) -> None:
    world = make_world(tmp_path)
    book(world, "Pella", "Corin")
    world.browser("Mona Manager")
    settings, disk = world.house.settings, tmp_path / "disk"
    disk.mkdir()
    made = backup.make_backup(settings, disk, world.clock(), ZoneInfo("Europe/Lisbon"))
    assert (made.days, made.guests, made.header.store) == (1, 2, "postgresql")
    before = whole_store(world.house, ENDED)
    (copied,) = backup.copies(disk, backup.DATA)
    given = restore.source(settings.data, copied.path)
    assert restore.rehearse(settings, given).guests == 2
    words = recovery.read_sheets(settings.data)[0].words
    world.house.close()
    with pytest.raises(StoreProblem, match="Name a new, empty one"):
        put_back(settings, given, clock=world.clock)
    fresh = Settings(data=tmp_path / "fresh", database_url=empty_database())
    put_back(fresh, restore.source(fresh.data, copied.path, words), clock=world.clock)
    assert check_folder(fresh)[0] is None
    house = open_house(fresh, world.clock)
    assert whole_store(house, ENDED) == before
    with acting(house, PROGRAM, "made_for_a_test") as act:
        act.add(SiteRow(name="Later"))
    with house.store.reading() as session:
        assert session.execute(text("SELECT count(*) FROM visit WHERE ended_at IS NULL")).scalar() == 0
    house.close()


def test_the_same_backup_opens_without_a_server(tmp_path: Path) -> None:
    world = make_world(tmp_path)
    book(world, "Pella", "Corin")
    disk = tmp_path / "disk"
    disk.mkdir()
    backup.make_backup(world.house.settings, disk, world.clock(), ZoneInfo("Europe/Lisbon"))
    words = recovery.read_sheets(world.house.settings.data)[0].words
    before = whole_store(world.house, {*ENDED, "alembic_version"}).keys()
    world.house.close()
    fresh = Settings(data=tmp_path / "fresh")
    (copied,) = backup.copies(disk, backup.DATA)
    put_back(fresh, restore.source(fresh.data, copied.path, words), clock=world.clock)
    assert check_folder(fresh)[0] is None
    house = open_house(fresh, world.clock)
    assert whole_store(house).keys() >= before
    house.close()
