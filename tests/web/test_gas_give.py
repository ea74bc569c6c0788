"""Gas room: giving cylinders to the people of a slot and taking them back."""

from datetime import date

import pytest

from app.actions.act import Actor, acting
from app.actions.gas_room.fills import Air, Fill, fill_several
from app.records.gas_room import cylinders
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.water import PressureRow
from tests.web_world import Page, World


@pytest.fixture
def grouped(world: World) -> World:
    """Full cylinders 1 (10 L) and 2 (12 L), number 3 empty; a guide and an assistant at 10:30."""
    with acting(world.house, Actor("Ines Instructor", person_id=2), "made_for_a_test") as act:
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
        fill_several(act, {1: Fill(20, 200), 2: Fill(20, 205), 3: Fill(5, 40)}, Air(20))
        group = act.add(GroupRow(slot_id=1, name="Group A", depth_m=8, minutes=30))
        for part, person in (("guide", 2), ("assistant", 3)):
            act.add(
                MemberRow(
                    group_id=group.id or 0, part=part, person_id=person, joined_at=act.now, joined_by="test"
                )
            )
    world.clock.pass_minutes(1)
    return world


def chosen(page: Page, member: int) -> str:
    """Return the cylinder suggested for a member."""
    return dict(page.form_fields("give_cylinder", f"/gas/give/{member}")[1]).get("cylinder_id", "")


def test_the_suggestion_is_one_tap_and_the_board_knows_who_has_it(grouped: World) -> None:
    desk = grouped.browser("Dora Desk")
    page = desk.open("/gas/give")
    assert page.people() == {"1": "no-cylinder", "2": "no-cylinder"}
    assert "start_pressure_min" in page.rules()
    assert (chosen(page, 1), chosen(page, 2)) == ("2", "1")
    given = page.send("give_cylinder", at="/gas/give/1")
    assert given.status == 200 and given.people() == {"1": "has-cylinder", "2": "no-cylinder"}
    assert "Cylinder given out." in given.words()
    board = desk.open("/gas?as=table")
    assert "Ines Instructor, Group A" in board.words()
    # The other tablet still shows number 2 as free: one of two gets it.
    late = page.send("give_cylinder", at="/gas/give/2", cylinder_id="2")
    assert late.status == 422 and "cylinder_free" in late.rules()
    assert late.people() == {"1": "has-cylinder", "2": "no-cylinder"}
    empty = page.send("give_cylinder", at="/gas/give/2", cylinder_id="3")
    assert empty.status == 422 and "start_pressure_min" in empty.rules()
    assert page.send("give_cylinder", at="/gas/give/2", cylinder_id="77").status == 404
    assert page.send("give_cylinder", at="/gas/give/2", cylinder_id="").status == 422
    assert late.send("give_cylinder", at="/gas/give/2").people() == {"1": "has-cylinder", "2": "has-cylinder"}


def test_a_cylinder_comes_back_with_an_end_pressure_once(grouped: World) -> None:
    desk = grouped.browser("Dora Desk")
    page = desk.open("/gas/give?slot=1").send("give_cylinder", at="/gas/give/1")
    back = "/gas/take-back/1?slot=1"
    stale = desk.open("/gas/give?slot=1")
    grouped.clock.pass_minutes(3)
    for typed, sentence in (("", "Enter end pressure in bar."), ("900", "must be between 0 and 300 bar")):
        bad = page.send("take_back_cylinder", at=back, bar=typed)
        assert bad.status == 422 and sentence in bad.words()
    assert bad.find("input", name="bar")[0].get("value") == "900"
    to, pairs = page.form_fields("take_back_cylinder", back)
    typed_form = {**dict(pairs), "bar": "80"}
    done = desk.post(to, typed_form)
    assert done.status == 200 and done.people() == {"1": "no-cylinder", "2": "no-cylinder"}
    assert desk.post(to, typed_form).status == 200
    clash = stale.send("take_back_cylinder", at=back, bar="90")
    assert clash.status == 409
    with grouped.house.store.reading() as session:
        assert cylinders.facts_of(session, 2).gauge_bar == 80


def test_what_the_guide_read_at_the_water_is_not_asked_again(grouped: World) -> None:
    browser = grouped.browser("Ines Instructor")
    page = browser.open("/gas/give").send("give_cylinder", at="/gas/give/1")
    with grouped.act() as act:
        act.add(
            PressureRow(
                member_id=1,
                cylinder_id=2,
                moment="end",
                bar=70,
                read_value=70,
                by="Ines Instructor",
                at=act.now,
            )
        )
    page = browser.open("/gas/cylinders/2")
    assert page.send("take_back_cylinder").status == 200
    with grouped.house.store.reading() as session:
        assert cylinders.facts_of(session, 2).gauge_bar == 70


def test_a_slot_without_groups_and_roles_that_give_nothing_out(grouped: World) -> None:
    page = grouped.browser("Lena Lead").open("/gas/give?slot=2")
    assert page.status == 200 and "Nobody is in a group of this slot yet" in page.words()
    keeper = grouped.browser("Kim Keeper")
    assert keeper.open("/gas/give").status == 404
    token = keeper.open("/today").find("input", name="token")[0].get("value") or ""
    for key, path in (("a", "/gas/give/1"), ("b", "/gas/take-back/1")):
        assert keeper.post(path, {"key": key * 32, "token": token}).status == 404
