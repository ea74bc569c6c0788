"""The seal of a closed day: corrections amend it, anything else breaks it, and what broke it is named."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from app.records.look_back import day_seal
from app.records.store.house import DATABASE
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import GroupRow
from app.records.tables.water import PressureRow
from tests.web_ready import Ready, kept_ready, reopened
from tests.web_world import DAY, World


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return kept_ready(tmp_path_factory.mktemp("ready"))


@pytest.fixture
def ready(kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Ready]:
    monkeypatch.delenv("DAYBUOY_TEST_DATABASE_URL", raising=False)
    made = reopened(kept, tmp_path)
    yield made
    made.world.house.close()


def seal(world: World, days_on: int = 0) -> str:
    """Seal the day, as closing it does."""
    with world.act("close_day") as act:
        day = DAY + timedelta(days=days_on)
        return act.add(day_seal.make_seal(act.session, world.house.master, day, act.now)).seal


def wrong(world: World) -> str | None:
    with world.house.store.reading() as session:
        return day_seal.first_wrong_seal(session, world.house.master)


def amended(world: World) -> list[tuple[str, bool, str]]:
    with world.house.store.reading() as session:
        row = day_seal.seal_of(session, DAY)
        assert row is not None
        return [
            (one.table, one.added, one.who) for one in day_seal.amendments(session, world.house.master, row)
        ]


def raw(world: World, *statements: str) -> None:
    """Change the store behind the program's back."""
    with closing(sqlite3.connect(world.house.settings.data / DATABASE)) as file:
        for (name,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            file.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            assert file.execute(statement).rowcount != 0, statement
        file.commit()


def test_a_correction_amends_the_day_and_leaves_its_seal_whole(ready: Ready) -> None:
    ready.whole_dive()
    seal(ready.world)
    assert wrong(ready.world) is None and amended(ready.world) == []
    with ready.world.act("put_pressure_right") as act:
        member = ready.members["Ann"]
        old = act.session.get(PressureRow, 1)
        assert old is not None
        act.add(
            PressureRow(
                member_id=member, cylinder_id=old.cylinder_id, moment="end", bar=90, read_value=90,
                correction="misread", by="Mona Manager", at=act.now,
            )
        )  # fmt: skip
        group = act.get(GroupRow, ready.group_id)
        act.edit(group, group.version, {"happened": "Put right: a strap was loose."}, {})
        # Of no day: not part of any seal.
        cylinder = act.get(CylinderRow, 1)
        act.edit(
            cylinder, cylinder.version, {"location": "rack"} if hasattr(cylinder, "location") else {}, {}
        )
    assert wrong(ready.world) is None
    told = [("dive_group", False, "Daybuoy"), ("pressure", True, "Daybuoy")]
    assert sorted(amended(ready.world)) == told
    # An act that is about something else is found too: the whole trail is read for it.
    with ready.world.act("tidy_up") as act:
        act.about = ("shop", "1")
        group = act.get(GroupRow, ready.group_id)
        act.edit(group, group.version, {"happened": "nothing"}, {})
    assert wrong(ready.world) is None
    assert sorted(amended(ready.world)) == [("dive_group", False, "Daybuoy"), *told]


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE pressure SET bar = bar + 1 WHERE id = 1", "not the ones"),
        ("UPDATE pressure SET by = 'Somebody' WHERE id = 1", "not the ones"),
        (
            "UPDATE water_event SET happened_at = datetime(happened_at, '+1 minute') WHERE id = 2",
            "not the ones",
        ),
        ("UPDATE dive_group SET greatest_depth_m = 7.4", "not the ones"),
        ("UPDATE head_count SET counted = counted - 1 WHERE id = 1", "not the ones"),
        ("UPDATE plan SET answer = replace(answer, '1', '2')", "not the ones"),
        ("DELETE FROM skill WHERE id = 3", "record 3 of skill is gone"),
        ("DELETE FROM water_event WHERE id = 1", "record 1 of water_event is gone"),
        ("UPDATE day_seal SET seal = replace(seal, substr(seal, 1, 1), 'x') WHERE id = 1", "not the ones"),
        ("UPDATE day_seal SET covers = replace(covers, '\"bar\", ', '') WHERE id = 1", "not the ones"),
        ("UPDATE day_seal SET day = '2026-07-16' WHERE id = 1", "not the ones"),
    ],
)
def test_what_is_changed_behind_the_programs_back_breaks_the_seal(
    ready: Ready, statement: str, says: str
) -> None:
    ready.whole_dive()
    seal(ready.world)
    raw(ready.world, statement)
    said = wrong(ready.world)
    assert said is not None and "Closed day 2026-07-1" in said and says in said


def test_days_are_tied_to_the_one_closed_before(ready: Ready) -> None:
    ready.whole_dive()
    first, second = seal(ready.world), seal(ready.world, 1)
    assert first != second and wrong(ready.world) is None
    raw(ready.world, "DELETE FROM day_seal WHERE id = 1")
    assert "the seal of the day closed before it is gone" in (wrong(ready.world) or "")
