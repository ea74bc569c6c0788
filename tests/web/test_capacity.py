"""Can we take more? Yes or no with every reason, and nothing kept by asking."""

from datetime import date, timedelta

import pytest
from sqlmodel import select

from app.records.tables.compressor import CompressorOutputRow
from app.records.tables.cylinders import CylinderRow, FillRow
from app.records.tables.kit import KitItemRow
from app.records.tables.people import PersonRow
from tests.booking_world import booked
from tests.web_world import START, Browser, Page, World, whole_store

LATER = date(2027, 6, 1)


@pytest.fixture
def stocked(world: World) -> World:
    """Eight full cylinders, a compressor, and on the rail two jackets S, two M, with suits and regulators."""
    with world.act() as act:
        for number in range(1, 9):
            row = act.add(
                CylinderRow(
                    number=str(number),
                    litres=12,
                    working_pressure_bar=232,
                    last_visual=date(2026, 2, 1),
                    last_pressure_test=date(2024, 2, 1),
                )
            )
            act.add(
                FillRow(
                    cylinder_id=row.id or 0,
                    start_bar=50,
                    end_bar=215,
                    temp_c=25,
                    at=START - timedelta(hours=3),
                    by_id=2,
                    by="Ines Instructor",
                )
            )
        act.add(CompressorOutputRow(free_air_l_min=200, at=START, by="Mona Manager"))
        for kind in ("jacket", "suit", "regulator"):
            for place, size in enumerate(("S", "S", "M", "M", "L", "L")):
                act.add(
                    KitItemRow(
                        kind=kind,
                        number=f"{kind[0].upper()}{place}",
                        size="" if kind == "regulator" else size,
                        service_due=LATER,
                    )
                )
    return world


def ask(browser: Browser, slot: int, people: str, **sizes: str) -> Page:
    """Ask through the address that the form makes."""
    more = "".join(f"&size_{size}={count}" for size, count in sizes.items())
    return browser.open(f"/can-we-take?slot={slot}&people={people}{more}")


def test_yes_in_two_taps_from_today_and_nothing_is_kept(stocked: World) -> None:
    desk = stocked.browser("Dora Desk")
    link = [
        e.get("href") for e in desk.open("/today").find("a") if (e.get("href") or "").startswith("/can-we")
    ]
    assert link == ["/can-we-take?day=2026-07-15"]
    before = whole_store(stocked.house, without=("visit",))
    form = desk.open(link[0] or "")
    assert form.find("form", action="/can-we-take") and len(form.find("input", name="slot")) == 3
    yes = ask(desk, 2, "4", S="2", M="2")
    assert yes.find("section", data_answer="yes") and "Yes: 4 more can come at 13:30" in yes.words()
    assert "Jackets left then: S: 2, M: 2, L: 2" in yes.words()
    assert whole_store(stocked.house, without=("visit",)) == before


def test_no_says_every_reason(stocked: World) -> None:
    desk = stocked.browser("Dora Desk")
    booked(stocked, slot=2, names=("Pella Windrow", "Orrin Windrow", "Tamsin Windrow"))
    no = ask(desk, 2, "4", S="3")
    words = no.words()
    assert no.find("section", data_answer="no")
    assert {"places_left", "kit_free"} <= no.rules(), words
    assert (
        "has 3 places left" in words
        and "No jacket is left for 2 of them (2 of size S). Left then: M: 1, L: 2." in words
    )
    with stocked.act() as act:
        for name in ("Ines Instructor", "Ivo Instructor", "Lena Lead"):
            found = act.session.exec(select(PersonRow).where(PersonRow.name == name)).one()
            act.edit(found, None, {"first_aid_until": date(2026, 1, 1)}, {})
    nobody = ask(desk, 2, "1")
    assert {"guide_required", "cpr_o2_valid"} <= nobody.rules()
    assert "No guide is free for them." in nobody.words()


def test_cylinders_that_are_not_full_and_cool_in_time_are_a_reason_with_the_time(stocked: World) -> None:
    with stocked.act() as act:
        for number in range(1, 9):
            act.add(
                FillRow(
                    cylinder_id=number,
                    start_bar=0,
                    end_bar=60,
                    temp_c=20,
                    at=START,
                    by_id=2,
                    by="Ines Instructor",
                )
            )
    # 8:00 UTC is 9:00 here; the first slot begins at 10:30.
    stocked.clock.pass_minutes(60)
    desk = stocked.browser("Dora Desk")
    no = ask(desk, 1, "4")
    assert "cylinder_given" in no.rules() and "are not all full and cool before 1" in no.words()
    later = ask(desk, 2, "4")
    assert later.find("section", data_answer="yes"), later.words()


def test_a_guide_in_another_group_is_named(stocked: World) -> None:
    lead = stocked.browser("Lena Lead")
    page = lead.open("/can-we-take?slot=1&people=7")
    assert {"guide_required", "places_left"} <= page.rules()
    assert "room for 6 only" in page.words()


def test_nonsense_is_said_and_wrong_roles_see_nothing(stocked: World) -> None:
    desk = stocked.browser("Dora Desk")
    for people in ("", "0", "-1", "many", "1000000000000"):
        page = ask(desk, 2, people)
        assert page.status == 200 and "Enter how many, from 1 to 12." in page.words()
        assert not page.find("section", id="answer")
    assert "You gave 3 sizes for 2 people." in ask(desk, 2, "2", M="3").words()
    assert "Enter each size as a number" in ask(desk, 2, "2", M="x").words()
    assert desk.open("/can-we-take?slot=99&people=1").status == 404
    assert desk.open("/can-we-take?slot=x&people=1").status == 404
    assert stocked.browser("Kim Keeper").open("/can-we-take").status == 404
    stocked.clock.pass_minutes(120)
    begun = ask(stocked.browser("Dora Desk"), 1, "1")
    assert "has begun" in begun.words()
