"""Your units: each person's own choice, and what it changes on the way from a gauge to the records."""

import pytest
from sqlmodel import select

from app.records.tables.cylinders import CylinderRow, ReadingRow
from app.records.tables.people import PersonRow
from app.records.tables.water import PressureRow
from app.web.access import ROLES, TABLE
from tests.groups_world import book, give_cylinders, group_of, look_at_water
from tests.water_world import diver, rows_of
from tests.web_ready import Ready
from tests.web_world import World


def units_of(world: World, name: str) -> str:
    """Return what is kept for somebody."""
    with world.house.store.reading() as session:
        return session.exec(select(PersonRow).where(PersonRow.name == name)).one().units


def test_everybody_who_is_signed_in_chooses_for_themselves(world: World) -> None:
    assert TABLE["choose_units"].roles == TABLE["your_units"].roles == frozenset(ROLES)
    kim, dora = world.browser("Kim Keeper"), world.browser("Dora Desk")
    page = kim.open("/your-units")
    assert page.status == 200 and units_of(world, "Kim Keeper") == "metric"
    assert page.find("a", href="/your-units")
    kept = page.send("choose_units", pressure="psi")
    assert "Your units are kept." in kept.words() and units_of(world, "Kim Keeper") == "psi"
    assert "2900 psi (200 bar)" in kept.words()
    assert units_of(world, "Dora Desk") == "metric"
    every = dora.open("/your-units").send("choose_units", set="other")
    assert every.status == 200 and units_of(world, "Dora Desk") == "psi ft °F lb ft³"
    chosen = [e.get("value") for e in every.find("input", type="radio") if "checked" in e.attrib]
    assert chosen == ["psi", "ft", "°F", "lb", "ft³"]
    dora.open("/your-units").send("choose_units", set="metric")
    assert units_of(world, "Dora Desk") == "metric"


def test_a_unit_that_nobody_offers_is_refused_and_nothing_is_kept(world: World) -> None:
    kim = world.browser("Kim Keeper")
    bad = kim.open("/your-units").send("choose_units", pressure="furlong")
    assert bad.status == 422 and "Choose the unit of pressure." in bad.words()
    none = kim.open("/your-units").send("choose_units", length=None)
    assert none.status == 422 and "Choose the unit of depth and distance." in none.words()
    assert units_of(world, "Kim Keeper") == "metric"
    assert world.browser().open("/your-units", follow=False).status == 303


def test_choosing_units_does_not_stand_in_the_way_of_the_managers_form(world: World) -> None:
    mona = world.browser("Mona Manager")
    with world.house.store.reading() as session:
        kim = session.exec(select(PersonRow).where(PersonRow.name == "Kim Keeper")).one()
    form = mona.open(f"/setup/people/{kim.id}")
    world.browser("Kim Keeper").open("/your-units").send("choose_units", set="other")
    assert form.send("change_person").status == 200


def test_a_psi_reader_sees_the_plan_and_reads_2900_psi_at_the_water(ready: Ready) -> None:
    ready.phone.open("/your-units").send("choose_units", set="other")
    plan = ready.phone.open(f"/groups/{ready.group_id}/plan")
    assert "1460 psi (100 bar)" in plan.words() and "26 ft (8 m)" in plan.words()
    page = ready.page()
    ann = ready.members["Ann"]
    assert "Ann, cylinder" in page.words() and "(psi)" in page.words()
    steps = {e.get("data-step") for e in page.root.iter() if e.get("data-step")}
    assert steps == {"-100", "-50", "50", "100"}
    done = page.send("read_pressures", **{f"bar_{ann}": "2900"})
    assert done.status == 200
    start = diver(ready, "Ann").start
    assert start is not None
    assert start.bar == pytest.approx(199.95, abs=0.01) and (start.read_value, start.read_unit) == (
        2900,
        "psi",
    )
    assert done.find("input", name=f"bar_{ann}")[0].get("value") == "2900"
    before = len(rows_of(ready, PressureRow))
    assert done.send("read_pressures").status == 200
    assert len(rows_of(ready, PressureRow)) == before, "what stands untouched is no new reading"
    full = ready.page().send("read_pressures", **{f"bar_{ann}": "197 bar"})
    start = diver(ready, "Ann").start
    assert full.status == 200 and start is not None and (start.bar, start.read_unit) == (197, "bar")


def test_a_bar_reader_writes_psi_in_full_and_a_bare_2900_is_refused_with_a_hint(ready: Ready) -> None:
    ann = ready.members["Ann"]
    bare = ready.page().send("read_pressures", **{f"bar_{ann}": "2900"})
    said = "Ann's pressure must be between 0 and 300 bar. If the gauge shows psi, write 2900 psi."
    assert bare.status == 422 and said in bare.words()
    assert bare.find("input", name=f"bar_{ann}")[0].get("value") == "2900"
    full = bare.send("read_pressures", **{f"bar_{ann}": "2900 psi"})
    start = diver(ready, "Ann").start
    assert full.status == 200 and start is not None and (start.read_value, start.read_unit) == (2900, "psi")
    assert full.find("input", name=f"bar_{ann}")[0].get("value") == "199.9"
    assert full.send("read_pressures").status == 200
    again = diver(ready, "Ann").start
    assert again is not None and again.id == start.id


def test_refusals_and_limits_are_said_in_both_units(ready: Ready) -> None:
    ready.phone.open("/your-units").send("choose_units", set="other")
    ann = ready.members["Ann"]
    high = ready.page().send("read_pressures", **{f"bar_{ann}": "5000"})
    assert high.status == 422
    assert "Ann's pressure must be between 0 and 4350 psi (0 and 300 bar)." in high.words()
    empty = ready.page().send("read_pressures", **{f"bar_{ann}": "0"})
    assert empty.status == 422
    assert "Start pressure must be between 20 and 4350 psi (1 and 300 bar)." in empty.words()
    low = ready.page().send("read_pressures", **{f"bar_{ann}": "2000"})
    assert low.status == 200 and "Needed: at least 2620 psi (180 bar)" in low.words()


def test_depth_is_planned_in_feet_and_kept_in_metres(world: World) -> None:
    group_id = group_of(world, book(world, "Ann"))
    give_cylinders(world, group_id)
    look_at_water(world)
    ines = world.browser("Ines Instructor")
    ines.open("/your-units").send("choose_units", length="ft")
    at = f"/groups/{group_id}/plan"
    same = ines.open(at).send("change_dive", minutes="19")
    assert same.status == 200
    with world.house.store.reading() as session:
        from app.records.groups.groups import group_view

        assert group_view(session, group_id).group.depth_m == 8
    deep = ines.open(at).send("change_dive", depth_m="33")
    assert deep.status == 422 and "depth_plan_default" in deep.rules()
    fine = ines.open(at).send("change_dive", depth_m="26")
    assert fine.status == 200
    with world.house.store.reading() as session:
        assert group_view(session, group_id).group.depth_m == pytest.approx(7.9248)


def test_the_gas_room_is_read_and_written_in_the_readers_units(ready: Ready) -> None:
    guide = ready.phone
    guide.open("/your-units").send("choose_units", set="other")
    cylinder = diver(ready, "Ann").cylinder
    assert cylinder is not None
    with ready.world.house.store.reading() as session:
        row = session.exec(select(CylinderRow).where(CylinderRow.number == cylinder.number)).one()
    page = guide.open(f"/gas/cylinders/{row.id}")
    assert "psi (232 bar)" in page.words() and "15 L" in page.words(), "its size stays as stamped"
    read = page.send("read_cylinder", bar="2900", temp_c="86")
    assert read.status == 200
    newest = rows_of(ready, ReadingRow)[-1]
    assert newest.bar == pytest.approx(199.95, abs=0.01) and newest.temp_c == pytest.approx(30)
    assert (newest.read_value, newest.read_unit) == (2900, "psi")
    plain = ready.world.browser("Lena Lead").open(f"/gas/cylinders/{row.id}")
    assert "gauge: 2900 psi" in plain.words() and "(psi)" not in plain.words()
    full = plain.send("read_cylinder", bar="2800 psi", temp_c="20")
    assert full.status == 200
    newest = rows_of(ready, ReadingRow)[-1]
    assert (newest.read_value, newest.read_unit, newest.temp_c) == (2800, "psi", 20)


def test_limits_are_shown_in_both_units_and_set_in_the_kept_one(world: World) -> None:
    mona = world.browser("Mona Manager")
    mona.open("/your-units").send("choose_units", set="other")
    assert "at least 2620 psi (180 bar)" in mona.open("/setup/limits").words()
    page = mona.open("/setup/limits/start_pressure_min")
    assert "at least 2620 psi (180 bar)" in page.words() and "New value (bar)" in page.words()
