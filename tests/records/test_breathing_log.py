"""What the shop's own dives teach: toward its truth, robust, put right with the records, kept up cheaply."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from math import log
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlmodel import select

from app.planning.breathing import prior
from app.records.plans.breathing_log import BreathingLog, Learned
from app.records.plans.plan_case import plan_basis_of
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import GroupRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import ConditionsRow, GuestRow, SlotRow
from tests.breathing_world import WATER_C, Dive, believed, put_right, simulated, store
from tests.groups_world import book, give_cylinders, group_of, look_at_water, person_id
from tests.web_world import START, World, make_world

LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    """A shop with people, sites and slots, and nothing booked."""
    made = make_world(tmp_path)
    yield made
    made.house.close()


def learned(world: World) -> Learned:
    """Return what the running shop believes."""
    with world.house.store.reading() as session:
        return world.house.breathing.now(session)


def afresh(world: World) -> Learned:
    """Return what a program started now would believe of the same records."""
    with world.house.store.reading() as session:
        return BreathingLog().now(session)


def middle(world: World) -> float:
    """Return the learned middle in L/min at 72 kg; the same whether kept up or worked out afresh."""
    here, anew = learned(world), afresh(world)
    assert here.belief.dives == anew.belief.dives and here.own == anew.own
    assert here.belief.coefficients == pytest.approx(anew.belief.coefficients, abs=1e-12)
    return here.guest(None, 72, water_temp_c=WATER_C).expected_l_min


def expected(world: World, group_id: int) -> list[float]:
    """Return the expected rate of each guest of a group's plan."""
    with world.house.store.reading() as session:
        case = plan_basis_of(session, world.house, group_id, world.clock()).case
    assert case is not None
    return [one.expected_rate_l_min for one in case.divers if not one.is_guide]


def test_a_plan_moves_toward_a_shop_that_breathes_a_fifth_more(world: World) -> None:
    group_id = group_of(world, book(world, "Ann"))
    give_cylinders(world, group_id)
    look_at_water(world)
    (before,) = expected(world, group_id)
    assert middle(world) == pytest.approx(believed(72)) and learned(world).belief.dives == 0
    # Seed 7: a hundred dives of guests who breathe 1.2 times what is believed before the first.
    store(world, simulated(7, 100, factor=1.2))
    (after,) = expected(world, group_id)
    assert learned(world).belief.dives == 100
    assert 1.13 < after / before < 1.25 and 1.13 < middle(world) / believed(72) < 1.25


def test_few_dives_leave_the_margin_as_it_was_and_many_give_what_they_show(world: World) -> None:
    # Seed 11: guests who all breathe almost alike; ten of them must not narrow the band much.
    first = learned(world).guest(None, 72)
    store(world, simulated(11, 5, spread=0.02), days_ago=30)
    five = learned(world).guest(None, 72)
    store(world, simulated(12, 5, spread=0.02), days_ago=29)
    ten = learned(world).guest(None, 72)
    width = log(first.high_l_min / first.expected_l_min)
    assert log(five.high_l_min / five.expected_l_min) > 0.75 * width
    assert log(ten.high_l_min / ten.expected_l_min) > 0.6 * width
    store(world, simulated(13, 200, spread=0.02), days_ago=28)
    many = learned(world).guest(None, 72)
    assert log(many.high_l_min / many.expected_l_min) < 0.5 * width


def test_a_wild_reading_moves_the_middle_by_less_than_three_hundredths(world: World) -> None:
    # Seed 3: forty plain dives, then an end pressure of 20 where 150 was meant.
    store(world, simulated(3, 40))
    before = middle(world)
    (wild,) = store(world, [Dive(200, 20, 12, 15, 6, 72)], days_ago=5)
    assert before < middle(world) < 1.03 * before and learned(world).belief.dives == 41
    put_right(world, wild, 150)
    assert middle(world) == pytest.approx(before, rel=0.01)


def test_a_typing_error_put_right_gives_what_the_right_figure_would_have_given(world: World) -> None:
    # Seed 5: the second of thirty dives was typed wrong; those after it are learned again.
    dives = simulated(5, 30)
    wrong = Dive(dives[1].start_bar, 30, 12, dives[1].minutes, dives[1].depth_m, dives[1].mass_kg)
    members = store(world, [dives[0], wrong, *dives[2:]])
    with_error = middle(world)
    put_right(world, members[1], dives[1].end_bar)
    assert middle(world) < with_error and learned(world).belief.dives == 30


def test_what_nobody_can_have_breathed_is_left_out_and_named(world: World) -> None:
    members = store(
        world, [Dive(200, 205, 12, 18, 6, 72), Dive(200, 20, 12, 6, 0.5, 72), Dive(200, 110, 12, 3, 6, 72)]
    )
    assert learned(world).belief.dives == 0
    with world.house.store.reading() as session:
        found = {one.member_id: one.left_out for one in world.house.breathing.entries(session, LONG_AGO)}
    assert found[members[0]].startswith("The end pressure is not under the start pressure.")
    assert found[members[1]].startswith("Nobody breathes like this.")
    assert found[members[2]].startswith("The dive is too short")


def test_depth_size_and_mass_put_right_are_learned_again(world: World) -> None:
    members = store(world, simulated(9, 3))
    before = middle(world)
    with world.act() as act:
        act.edit(act.get(GroupRow, 1), None, {"greatest_depth_m": 12.0}, {})
    deeper = middle(world)
    assert deeper < before
    with world.act() as act:
        act.edit(act.get(CylinderRow, 1), None, {"litres": 15.0}, {})
    bigger = middle(world)
    assert bigger > deeper
    with world.act() as act:
        act.edit(act.get(GuestRow, 1), None, {"mass_kg": 140.0}, {})
    assert middle(world) != bigger and len(members) == 3


def test_an_open_dive_teaches_nothing_before_it_is_closed(world: World) -> None:
    store(world, simulated(9, 2))
    with world.act() as act:
        act.edit(act.get(GroupRow, 2), None, {"closed_at": None}, {})
    assert afresh(world).belief.dives == 1
    with world.act() as act:
        act.edit(act.get(GroupRow, 2), None, {"closed_at": START}, {})
    assert learned(world).belief.dives == 2 and middle(world) > 0


def test_a_guide_without_a_rate_on_file_is_known_by_own_dives(world: World) -> None:
    ines = person_id(world, "Ines Instructor")
    general = learned(world).guide(ines, None)
    # Seed 21: a guide who breathes 0.6 times a guest; staff teach nothing about guests.
    store(world, simulated(21, 8, factor=0.6, spread=0.05), guide_id=ines)
    own = learned(world).guide(ines, None)
    assert own.expected_l_min < general.expected_l_min and own.high_l_min < general.high_l_min
    assert learned(world).belief == prior()
    assert learned(world).guide(ines, 18).expected_l_min == pytest.approx(18)


def test_a_guest_who_dived_before_is_known_by_that_dive(world: World) -> None:
    (ann,) = book(world, "Ann")
    group_id = group_of(world, [ann])
    give_cylinders(world, group_id)
    look_at_water(world)
    (first,) = expected(world, group_id)
    # This morning Ann used far more than a guest of 70 kg is expected to.
    store(world, [Dive(200, 40, 12, 18, 6, 70)], days_ago=0.1, guest_id=ann)
    (again,) = expected(world, group_id)
    assert again > 1.15 * first
    assert again > learned(world).guest(None, 70).expected_l_min


def test_only_what_changed_is_read_again(world: World) -> None:
    store(world, simulated(9, 50))
    learned(world)
    asked: list[str] = []
    event.listen(world.house.store.engine, "before_cursor_execute", lambda *a: asked.append(a[2]))
    learned(world)
    assert len(asked) <= 6
    asked.clear()
    store(world, simulated(10, 1), days_ago=1)
    asked.clear()
    assert learned(world).belief.dives == 51
    assert len(asked) <= 14


def test_dives_since_a_moment_come_with_what_was_believed_before_them(world: World) -> None:
    store(world, simulated(9, 4), days_ago=20)
    store(world, simulated(10, 2), days_ago=2)
    with world.house.store.reading() as session:
        lessons = world.house.breathing.lessons(session, START - timedelta(days=10))
    assert [one.before.dives for one in lessons] == [4, 5]


def test_age_and_the_measured_water_go_with_each_dive_and_follow_what_is_put_right(world: World) -> None:
    (member,) = store(world, simulated(15, 1))

    def dive() -> tuple[int, float | None]:
        with world.house.store.reading() as session:
            (entry,) = world.house.breathing.entries(session, LONG_AGO)
        assert entry.member_id == member and entry.dive.age is not None
        return int(entry.dive.age), entry.dive.water_temp_c

    assert dive() == (36, WATER_C)
    with world.act() as act:
        guest = act.session.exec(select(GuestRow)).one()
        slot = act.session.exec(select(SlotRow).where(SlotRow.places == 999)).one()
        act.edit(guest, None, {"birth_date": date(1970, 1, 1)}, {})
        act.add(
            ConditionsRow(
                slot_id=slot.id or 0,
                grade="good",
                water_temp_c=14.5,
                seen_by_id=1,
                seen_by="a test",
                at=slot.starts_at,
            )
        )
    assert dive() == (56, 14.5)
    with world.act() as act:
        act.edit(act.get(SiteRow, 1), None, {"usual_temp_c": 9.0}, {})
    assert dive() == (56, 14.5)
    assert middle(world)
