"""Two people at the same moment, over real connections: E2, E3, and slow clients of J2."""

import socket
import time
from collections.abc import Iterator
from datetime import date
from statistics import median

import pytest
from sqlmodel import select

from app.actions.act import Actor, acting
from app.actions.gas_room.fills import Air, Fill, fill_several
from app.records.tables.cylinders import CylinderRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.house import SiteRow, TrailRow, UsedKeyRow
from app.records.tables.parties import PartyRow, SlotRow
from app.records.welcome.bookings import slot_view
from tests.booking_world import CONTACT, guest_form
from tests.server_world import Visitor, at_once, form_in, served_here, typed
from tests.web_world import World


@pytest.fixture
def port(world: World) -> Iterator[int]:
    """The port under which the test's shop is served."""
    with served_here(world) as number:
        yield number


def test_e2_the_same_form_at_the_same_moment_is_written_once(world: World, port: int) -> None:
    manager = Visitor(port).sign_in("Mona Manager")
    for number in range(5):
        to, pairs = manager.form("/setup/sites", "add_site")
        pairs = typed(pairs, name=f"Quarry {number}")
        answers = at_once(*[lambda to=to, pairs=pairs: manager.follow(to, pairs)] * 4)
        assert {status for status, _ in answers} == {303}
        assert len({where for _, where in answers}) == 1, "all are told the same"
    with world.house.store.reading() as session:
        assert len(session.exec(select(SiteRow).where(SiteRow.name.startswith("Quarry"))).all()) == 5
        assert len(session.exec(select(TrailRow).where(TrailRow.act == "add_site")).all()) == 5
        assert len(session.exec(select(UsedKeyRow)).all()) == 5


def test_e2_the_same_key_with_other_content_at_the_same_moment_writes_one(world: World, port: int) -> None:
    manager = Visitor(port).sign_in("Mona Manager")
    to, pairs = manager.form("/setup/sites", "add_site")
    answers = at_once(
        lambda: manager.follow(to, typed(pairs, name="Quarry")),
        lambda: manager.follow(to, typed(pairs, name="Harbour")),
    )
    assert sorted(status for status, _ in answers) == [303, 409]


def booking(port: int, slot: int, name: str) -> tuple[Visitor, str, list[tuple[str, str]]]:
    """Return a desk that stands before its last button for one guest."""
    desk = Visitor(port).sign_in("Dora Desk")
    to, pairs = desk.form(f"/welcome/book?slot={slot}&people=1", "review_party")
    said = {"slot": str(slot), "walk_in": "yes", **CONTACT, **guest_form(name, "g1_")}
    status, review, _ = desk.post(to, typed(pairs, **said))
    assert status == 200
    to, pairs = form_in(review, "book_party")
    return desk, to, pairs


def test_e3_the_last_place_goes_to_one_of_two(world: World, port: int) -> None:
    with world.act() as act:
        act.get(SlotRow, 1).places = 1
    one, two = booking(port, 1, "Pella Windrow"), booking(port, 1, "Corin Ashdown")
    answers = at_once(*[lambda each=each: each[0].post(each[1], each[2]) for each in (one, two)])
    assert sorted(answer[0] for answer in answers) == [303, 422]
    refused = next(text for status, text, _ in answers if status == 422)
    assert 'data-rule="places_left"' in refused
    assert "Pella Windrow" in refused or "Corin Ashdown" in refused, "what was typed is still there"
    with world.house.store.reading() as session:
        assert slot_view(session, 1).taken == 1
        assert len(session.exec(select(PartyRow)).all()) == 1


def test_e3_one_cylinder_goes_to_one_of_two_people(world: World, port: int) -> None:
    with acting(world.house, Actor("Ines Instructor", person_id=2), "made_for_a_test") as act:
        act.add(
            CylinderRow(
                number="1", litres=12, working_pressure_bar=232, last_visual=date(2026, 2, 1),
                last_pressure_test=date(2024, 2, 1),
            )
        )  # fmt: skip
        fill_several(act, {1: Fill(20, 205)}, Air(20))
        group = act.add(GroupRow(slot_id=1, name="Group A", depth_m=8, minutes=30))
        for part, person in (("guide", 2), ("assistant", 3)):
            act.add(
                MemberRow(
                    group_id=group.id or 0, part=part, person_id=person, joined_at=act.now, joined_by="test"
                )
            )
    world.clock.pass_minutes(1)
    desks = [Visitor(port).sign_in(name) for name in ("Dora Desk", "Lena Lead")]
    forms = [
        desk.form("/gas/give", "give_cylinder", f"/gas/give/{member}")
        for desk, member in zip(desks, (1, 2), strict=True)
    ]
    answers = at_once(
        *[
            lambda desk=desk, form=form: desk.post(form[0], typed(form[1], cylinder_id="1"))
            for desk, form in zip(desks, forms, strict=True)
        ]
    )
    assert sorted(answer[0] for answer in answers) == [303, 422]
    assert 'data-rule="cylinder_free"' in next(text for status, text, _ in answers if status == 422)
    with world.house.store.reading() as session:
        assert len(session.exec(select(CylinderOutRow)).all()) == 1


def test_e3_one_record_changed_by_two_at_once_keeps_one_and_shows_both(world: World, port: int) -> None:
    managers = [Visitor(port).sign_in("Mona Manager") for _ in range(2)]
    forms = [one.form("/setup/sites", "edit_site", "/setup/sites/1") for one in managers]
    answers = at_once(
        *[
            lambda one=one, form=form, name=name: one.post(form[0], typed(form[1], name=name))
            for one, form, name in zip(managers, forms, ("North Jetty", "South Jetty"), strict=True)
        ]
    )
    assert sorted(answer[0] for answer in answers) == [303, 409]
    clash = next(text for status, text, _ in answers if status == 409)
    assert "North Jetty" in clash and "South Jetty" in clash and "Mona Manager" in clash


def test_j2_half_sent_requests_and_a_crowd_leave_today_quick(world: World, port: int) -> None:
    desk = Visitor(port).sign_in("Dora Desk")
    slow = []
    for number in range(200):
        line = socket.create_connection(("127.0.0.1", port))
        head = f"Host: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\nContent-Length: 1000\r\n"
        kind = "Content-Type: application/x-www-form-urlencoded\r\n"
        if number % 2:
            line.sendall(f"POST /sign-in HTTP/1.1\r\n{head}{kind}\r\nname=D".encode())
        else:
            line.sendall(f"GET /today HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nX-Slow: ".encode())
        slow.append(line)
    times = []
    for _ in range(7):
        began = time.perf_counter()
        assert desk.get("/today")[0] == 200
        times.append(time.perf_counter() - began)
    assert median(times) < 0.5, times
    for line in slow:
        line.close()
    # Far more at once than there are threads: all are answered, none waits for what another holds.
    began = time.perf_counter()
    answers = at_once(*[lambda: desk.get("/today")[0]] * 60)
    assert set(answers) == {200}
    assert time.perf_counter() - began < 20
