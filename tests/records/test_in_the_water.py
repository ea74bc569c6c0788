"""Who is in the water, read on from what is settled: the same people as when every event is read."""

from pathlib import Path
from random import Random

import pytest
from sqlmodel import select

from app.records.tables.water import WaterEventRow
from app.records.water_side import water
from tests.groups_world import book, group_of, members_of
from tests.web_world import make_world


def test_reading_on_tells_the_same_as_reading_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(water, "ALWAYS_READ", 4)
    world = make_world(tmp_path)
    group = group_of(world, book(world, "Ann", "Bo"))
    members, chance = list(members_of(world, group).values()), Random(7)
    seen = set()
    for _ in range(60):
        with world.act() as act:
            for member in chance.sample(members, chance.randint(1, 2)):
                event = chance.choice(("in", "in", "back", "never-entered"))
                act.add(
                    WaterEventRow(
                        group_id=group, member_id=member, event=event, happened_at=act.now, at=act.now, by="x"
                    )
                )
            # Asked before the act is stored, too: what is rolled back must not be remembered.
            water.in_the_water(act.session)
        with world.house.store.reading() as session:
            newest = {
                row.member_id: row.event
                for row in session.exec(select(WaterEventRow).order_by("id"))  # type: ignore[arg-type]
            }
            inside = {one.member_id for one in water.in_the_water(session)}
        assert inside == {member for member, event in newest.items() if event == "in"}
        seen.add(len(inside))
    assert seen >= {0, 1, 2, 3}
    with pytest.raises(ZeroDivisionError), world.act() as act:
        for _ in range(3):
            act.add(
                WaterEventRow(
                    group_id=group, member_id=members[0], event="in", happened_at=act.now, at=act.now, by="x"
                )
            )
        water.in_the_water(act.session)
        raise ZeroDivisionError
    with world.house.store.reading() as session:
        inside = {one.member_id for one in water.in_the_water(session)}
    assert inside == {member for member, event in newest.items() if event == "in"}
    world.house.close()
