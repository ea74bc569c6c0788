"""Giving cylinders out and taking them back, below the pages."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from app.actions.act import Act, Actor, Clash, Invalid, Refused, acting
from app.actions.gas_room.cylinders import add_reading, give_cylinder, quarantine, take_back_cylinder
from app.actions.gas_room.fills import Air, Fill, add_fill
from app.planning.units import AsRead
from app.records.gas_room import cylinders
from app.records.store.problems import NotHere
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.water import PressureRow, WaterEventRow
from tests.web_world import DAY, World, make_world

AIR = Air(temp_c=25)
INES = Actor("Ines Instructor", frozenset({"instructor"}), person_id=2)


@contextmanager
def acting_as_ines(world: World) -> Iterator[Act]:
    """Act as an instructor: a fill has a person's name to it."""
    with acting(world.house, INES, "made_for_a_test") as act:
        yield act


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    """A shop with two full cylinders, one not read, a group at sea and one in the pool."""
    made = make_world(tmp_path)
    with acting_as_ines(made) as act:
        for number, litres in (("1", 10.0), ("2", 12.0), ("3", 12.0)):
            act.add(
                CylinderRow(
                    number=number,
                    litres=litres,
                    working_pressure_bar=232,
                    last_visual=date(2026, 2, 1),
                    last_pressure_test=date(2024, 2, 1),
                )
            )
        for slot, name, person in ((1, "Group A", 2), (3, "Pool group", 3)):
            group = act.add(GroupRow(slot_id=slot, name=name, depth_m=8, minutes=30))
            act.add(
                MemberRow(
                    group_id=group.id or 0,
                    part="guide",
                    person_id=person,
                    joined_at=act.now,
                    joined_by="test",
                )
            )
        add_fill(act, 1, Fill(20, 200), AIR)
        add_fill(act, 2, Fill(20, 200), AIR)
    made.clock.pass_minutes(1)
    yield made
    made.house.close()


def refused(world: World, cylinder_id: int, member_id: int) -> frozenset[str]:
    """Try to give a cylinder; return the rules that refuse."""
    with pytest.raises(Refused) as problem, acting_as_ines(world) as act:
        give_cylinder(act, cylinder_id, member_id)
    return problem.value.decision.rules


def test_a_full_cylinder_goes_to_one_person_and_comes_back_with_its_end_pressure(world: World) -> None:
    with acting_as_ines(world) as act:
        out = give_cylinder(act, 1, 1)
    assert refused(world, 1, 2) == {"cylinder_free"}
    assert refused(world, 2, 1) == {"cylinder_given"}
    world.clock.pass_minutes(60)
    with acting_as_ines(world) as act:
        take_back_cylinder(act, out.id or 0, AsRead.as_kept(70))
    with world.house.store.reading() as session:
        facts = cylinders.facts_of(session, 1)
        assert (facts.gauge_bar, facts.out_with) == (70, "")
    assert refused(world, 1, 1) == {"start_pressure_min"}


def test_pool_water_asks_for_less_and_unread_is_never_enough(world: World) -> None:
    with acting_as_ines(world) as act:
        add_reading(act, 2, AsRead.as_kept(120))
    assert refused(world, 2, 1) == {"start_pressure_min"}
    with acting_as_ines(world) as act:
        give_cylinder(act, 2, 2)
    assert refused(world, 3, 1) >= {"start_pressure_min"}


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"last_visual": date(2025, 7, 14)}, "cylinder_in_test"),
        ({"last_pressure_test": None}, "cylinder_in_test"),
        ({"working_pressure_bar": 190.0}, "cylinder_not_above_stamp"),
    ],
)
def test_out_of_test_and_above_stamp_are_refused(world: World, change: dict[str, object], rule: str) -> None:
    with acting_as_ines(world) as act:
        act.edit(act.get(CylinderRow, 1), None, change, {})
    assert rule in refused(world, 1, 1)


def test_the_test_must_still_count_on_the_day_of_the_dive(world: World) -> None:
    with acting_as_ines(world) as act:
        act.edit(act.get(CylinderRow, 1), None, {"last_visual": DAY - timedelta(days=366)}, {})
    assert "cylinder_in_test" in refused(world, 1, 1)
    with acting_as_ines(world) as act:
        act.edit(act.get(CylinderRow, 1), None, {"last_visual": DAY - timedelta(days=365)}, {})
        assert give_cylinder(act, 1, 1).back_at is None


def test_quarantined_and_retired_cylinders_stay_in_the_shop(world: World) -> None:
    with acting_as_ines(world) as act:
        quarantine(act, 1, "Valve leaks")
        act.edit(act.get(CylinderRow, 2), None, {"retired": True}, {})
    assert refused(world, 1, 1) == {"cylinder_not_quarantined"}
    with pytest.raises(NotHere), acting_as_ines(world) as act:
        give_cylinder(act, 2, 1)


def test_nobody_who_left_or_whose_dive_is_over_gets_a_cylinder(world: World) -> None:
    with acting_as_ines(world) as act:
        act.edit(act.get(MemberRow, 1), None, {"left_at": act.now}, {})
        act.edit(act.get(GroupRow, 2), None, {"closed_at": act.now}, {})
    assert refused(world, 1, 1) == refused(world, 1, 2) == {"cylinder_given"}


def test_a_cylinder_does_not_come_back_before_its_diver(world: World) -> None:
    with acting_as_ines(world) as act:
        out = give_cylinder(act, 1, 1)
        act.add(event("in", act.now))
    with pytest.raises(Refused) as problem, acting_as_ines(world) as act:
        take_back_cylinder(act, out.id or 0, AsRead.as_kept(80))
    assert problem.value.decision.rules == {"roll_call_by_name"}
    world.clock.pass_minutes(30)
    with acting_as_ines(world) as act:
        act.add(event("back", act.now))
        act.add(
            PressureRow(
                member_id=1, cylinder_id=1, moment="end", bar=80, read_value=80, by="Ines", at=act.now
            )
        )
        take_back_cylinder(act, out.id or 0)
    with world.house.store.reading() as session:
        assert cylinders.facts_of(session, 1).gauge_bar == 80
    with acting_as_ines(world) as act:
        again = take_back_cylinder(act, out.id or 0)
        assert again.version == 2
    with pytest.raises(Clash), acting_as_ines(world) as act:
        take_back_cylinder(act, out.id or 0, AsRead.as_kept(80), version=1)


def test_without_an_end_pressure_nobody_knows_what_is_left(world: World) -> None:
    with acting_as_ines(world) as act:
        out = give_cylinder(act, 1, 1)
        act.add(
            PressureRow(
                member_id=1, cylinder_id=1, moment="start", bar=198, read_value=198, by="Ines", at=act.now
            )
        )
        take_back_cylinder(act, out.id or 0)
    with world.house.store.reading() as session:
        view = cylinders.cylinder_view(session, 1, DAY)
        assert (view.facts.gauge_bar, view.state) == (None, "not read")
    with pytest.raises(Invalid) as problem, acting_as_ines(world) as act:
        add_fill(act, 1, Fill(None, 200), AIR)
    assert list(problem.value.errors) == ["start_1"]


def test_a_correction_of_the_end_pressure_does_not_outlive_a_later_fill(world: World) -> None:
    with acting_as_ines(world) as act:
        out = give_cylinder(act, 1, 1)
    for minutes, bar, correction in ((60, 60.0, ""), (1, 65.0, "misread")):
        world.clock.pass_minutes(minutes)
        with acting_as_ines(world) as act:
            act.add(
                PressureRow(
                    member_id=1, cylinder_id=1, moment="end", bar=bar, read_value=bar,
                    correction=correction, by="Ines", at=act.now,
                )
            )  # fmt: skip
    with acting_as_ines(world) as act:
        take_back_cylinder(act, out.id or 0)
    with world.house.store.reading() as session:
        assert cylinders.facts_of(session, 1).gauge_bar == 65
    world.clock.pass_minutes(5)
    with acting_as_ines(world) as act:
        add_fill(act, 1, Fill(None, 210), AIR)
    world.clock.pass_minutes(5)
    with acting_as_ines(world) as act:
        act.add(
            PressureRow(
                member_id=1, cylinder_id=1, moment="end", bar=60, read_value=60, correction="was right",
                by="Ines", at=act.now,
            )
        )  # fmt: skip
    with world.house.store.reading() as session:
        assert cylinders.facts_of(session, 1).gauge_bar == 210


def event(word: str, at: datetime) -> WaterEventRow:
    """A water event of the first member."""
    return WaterEventRow(
        group_id=1, member_id=1, event=word, happened_at=at.astimezone(UTC), at=at, by="Ines"
    )
