"""Gas room: the fill plan from records, and logging a fill from it."""

from datetime import timedelta

from app.records.gas_room.fill_plan import day_plan
from app.records.tables.cylinders import QuarantineRow
from tests.booking_world import booked
from tests.gas_world import read, stock
from tests.web_world import DAY, START, World

FOUR = ("Pella Windrow", "Orrin Windrow", "Tamsin Windrow", "Jory Windrow")


def test_nothing_needed_and_nothing_known_are_said(world: World) -> None:
    desk = world.browser("Dora Desk")
    assert "Nobody lacks a cylinder now." in desk.open("/gas/fill-plan").words()
    booked(world, slot=2, names=FOUR)
    stock(world, 8, free_air=None)
    page = desk.open("/gas/fill-plan")
    assert "No times yet" in page.words() and "time not known" in page.words()
    assert len(page.find("li", data_cylinder="1")) == 1
    assert world.browser("Kim Keeper").open("/gas/fill-plan").status == 404


def test_the_plan_says_what_to_fill_to_what_pressure_and_when_to_start(world: World) -> None:
    booked(world, slot=2, names=FOUR)
    stock(world, 8)
    browser = world.browser("Ines Instructor")
    page = browser.open("/gas/fill-plan")
    # Four guests and two guides; from 60 bar to 205 bar at 40 °C, which leaves 184 bar at 17 °C.
    assert "6 needed, 2 of them for guides still to be chosen" in page.words()
    assert len([e for e in page.find("li") if e.get("data-cylinder")]) == 6
    assert "205 bar" in page.words() and "in time" in page.words() and "Start at the latest" in page.words()
    assert {"fill_gas_temp", "fill_cooling_minutes", "fill_handling_minutes"} <= page.rules()
    with world.house.store.reading() as session:
        plan = day_plan(session, DAY, world.clock.at)
    assert plan.minutes is not None and plan.latest_start is not None
    for step in plan.plan.steps:
        assert step.settled_bar >= 180 and step.to_bar <= 232
    spent = timedelta(minutes=plan.minutes + 6 * 3 + 30)
    # The slot begins at 13:30 in Lisbon, 12:30 UTC.
    assert abs((START.replace(hour=12, minute=30) - spent) - plan.latest_start) < timedelta(seconds=1)


def test_one_tap_opens_the_batch_ticked_and_the_plan_is_worked_out_anew(world: World) -> None:
    booked(world, slot=2, names=FOUR)
    stock(world, 8)
    browser = world.browser("Ines Instructor")
    plan = browser.open("/gas/fill-plan")
    (link,) = [e.get("href") or "" for e in plan.find("a") if "pick=" in (e.get("href") or "")]
    form = browser.open(link)
    ticked = [e.get("value") for e in form.find("input", name="pick") if "checked" in e.attrib]
    assert ticked == ["1", "2", "3", "4", "5", "6"]
    # A pressure to aim at is not a pressure read: nothing counts before somebody types or taps.
    assert form.find("input", name="end_bar")[0].get("value") == "" and "To aim at: 205 bar" in form.words()
    unread = form.send("fill_several")
    assert unread.status == 422 and "Enter the end pressure in bar." in unread.words()
    done = unread.send("fill_several", end_bar="205", co_ppm="1")
    assert done.status == 200 and "6 cylinders filled" in done.words() and "about 184 bar" in done.words()
    later = browser.open("/gas/fill-plan")
    assert "Nothing to fill: every slot has its cylinders" in later.words()
    again = browser.open("/gas/fill?same=last")
    assert (
        "To aim at: 205 bar" in again.words() and again.find("input", name="temp_c")[0].get("value") == "40"
    )


def test_too_few_and_too_late_are_said_in_words(world: World) -> None:
    booked(world, slot=1, names=FOUR)
    numbers = stock(world, 8, free_air=100.0)
    browser = world.browser("Ines Instructor")
    # 9:00; six fills of about 18 min each and half an hour to cool for 10:30.
    words = browser.open("/gas/fill-plan").words()
    assert "3 cylinders short for 10:30. The earliest is 1" in words, words
    assert "That is past: start now." in words
    assert "cylinders short for 10:30" in browser.open("/gas").words()
    with world.act() as act:
        for key in numbers[:5]:
            act.add(QuarantineRow(cylinder_id=key, why="O-ring hisses", at=START, by="Ines Instructor"))
    page = browser.open("/gas/fill-plan")
    assert "Not planned: 5" in page.words() and "cylinder_not_quarantined" in page.rules()
    assert "O-ring hisses" in page.words() and "6 cylinders short" not in page.words()
    assert "4 cylinders short for 10:30." in page.words() or "3 cylinders short for 10:30." in page.words()


def test_tomorrow_is_planned_from_tonights_empties(world: World) -> None:
    from app.records.tables.house import SiteRow
    from app.records.tables.parties import SlotRow

    stock(world, 4, bar=None)
    with world.act() as act:
        site = act.add(SiteRow(name="Old Quay", water="salt", density_kg_m3=1025.5, usual_temp_c=15))
        starts = START + timedelta(days=1, hours=1)
        tomorrow = DAY + timedelta(days=1)
        slot = act.add(SlotRow(day=tomorrow, clock="10:00", starts_at=starts, site_id=site.id or 0, places=6))
    booked(world, slot=slot.id or 0)
    browser = world.browser("Ines Instructor")
    page = browser.open("/gas/fill-plan")
    assert "Thu 16 Jul 2026" in page.words() and "10:00 Old Quay" in page.words()
    assert "Counted as empty, because nobody read them: 1, 2." in page.words()
    assert "tomorrow" in browser.open("/gas").words()
    read(world, [1, 2, 3, 4], 210, START)
    assert "Full already: 1, 2." in browser.open(f"/gas/fill-plan?day={tomorrow}").words()
    assert browser.open("/gas/fill-plan?day=never").status == 404
