"""Looking back: the day's gas against the plan, incidents, the day sheet, and closing the day."""

from datetime import timedelta

import pytest
from CoolProp.CoolProp import PropsSI
from sqlalchemy import text

from app.records.look_back.gas_log import gas_day
from app.records.look_back.incidents import IncidentView, incidents_of
from app.records.setup.shop import closed_day
from app.records.tables.cylinders import CompressorRow
from app.records.tables.days import IncidentRow
from tests.groups_world import book, group_of, person_id
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, Browser, Page, World

TYPED = {"severity": "near-miss", "category": "equipment", "what": "A hose leaked at the jetty."}


def incidents(world: World) -> list[IncidentView]:
    """Return today's incidents."""
    with world.house.store.reading() as session:
        return incidents_of(session, DAY)


def density_g_l(bar: float, kelvin: float) -> float:
    """Return the density of dry air after Lemmon et al. (2000), as worked out by CoolProp."""
    return float(PropsSI("D", "T", kelvin, "P", bar * 1e5, "Air"))


def write_one(browser: Browser, **other: str) -> Page:
    """Write an incident by hand."""
    return browser.open("/incidents/new").send("write_incident", **{**TYPED, **other})


def test_the_gas_of_a_dive_is_worked_out_from_what_was_read(ready: Ready) -> None:
    ready.whole_dive(Ann=90)
    with ready.world.house.store.reading() as session:
        (dive,) = gas_day(session, DAY).dives
    lines = {line.name: line for line in dive.lines}
    ann = lines["Ann"]
    assert (ann.start_bar, ann.end_bar, ann.minutes) == (200, 90, 18)
    # 15 L from 200 to 90 bar gauge at 16 C, as dry air at 1.01325 bar and 15 C. An ideal gas would give
    # 110 bar x 15 L / 1.01325 bar x 288.15 K / 289.15 K = 1623 L; at 200 bar air is thinner than that.
    used = (
        15 * (density_g_l(201.01325, 289.15) - density_g_l(91.01325, 289.15)) / density_g_l(1.01325, 288.15)
    )
    assert ann.used_litres == pytest.approx(used, rel=1e-3) and used < 1623
    assert ann.planned_end_bar is not None and ann.reserve_bar is not None and ann.reserve_bar >= 50
    assert ann.against_plan_bar == pytest.approx(90 - ann.planned_end_bar) and not ann.under_reserve
    # 7.5 m is 1.77 bar: with the way down and up the mean pressure is lower, so the rate is higher.
    assert ann.rate_l_min is not None and used / 18 / 1.77 < ann.rate_l_min < used / 18
    page = ready.world.browser("Mona Manager").open("/look-back/gas")
    words = page.words()
    assert "90 bar" in words and "18 min" in words and f"{ann.rate_l_min:.1f} L/min" in words
    assert f"{sum(line.used_litres or 0 for line in lines.values()):.0f} L" in words
    assert ann.gap is not None and f"− {-ann.gap.whole_bar:.0f} bar" in words and "Plan 1" in words


def test_what_was_not_read_is_not_known_and_a_guest_ashore_has_no_line(ready: Ready) -> None:
    ready.go_in(stays=("Bo",))
    ready.world.clock.pass_minutes(12)
    with ready.world.house.store.reading() as session:
        (dive,) = gas_day(session, DAY).dives
    assert {line.name for line in dive.lines} == {GUIDE, "Ann"}
    assert all(line.used_litres is None and line.minutes is None for line in dive.lines)
    words = ready.world.browser("Mona Manager").open("/look-back").words()
    assert (
        "not known" in words
        and "None " not in words.replace("None written", "")
        and "nan" not in words.lower().split()
    )


def test_times_put_right_change_the_minutes(ready: Ready) -> None:
    ready.everybody_out()
    at = ready.at(f"/times/{ready.members['Ann']}")
    ready.page("/wrap").send("put_times_right", at, went="09:01", back="09:31", why="watch")
    with ready.world.house.store.reading() as session:
        lines = {line.name: line for line in gas_day(session, DAY).dives[0].lines}
    assert (lines["Ann"].minutes, lines["Bo"].minutes) == (30, 18)


def test_under_the_reserve_is_said_and_made_an_incident(ready: Ready) -> None:
    ready.whole_dive(Bo=42)
    page = ready.world.browser("Mona Manager").open("/look-back/gas")
    assert "42 bar, under reserve" in page.words() and "end_pressure_min" in page.rules()
    page = ready.world.browser("Mona Manager").open("/look-back")
    assert "Bo came back with 42 bar; the reserve was" in page.words()
    one = ready.world.browser("Mona Manager").open("/incidents/1").words()
    assert "written by the program: reserve with which everyone is back at the surface" in one


def test_fills_and_the_hour_meter(ready: Ready) -> None:
    with ready.world.act() as act:
        act.add(CompressorRow(hours=1402.5, at=act.now, by=GUIDE))
        act.add(CompressorRow(hours=1404.0, at=act.now + timedelta(hours=2), by=GUIDE))
    manager = ready.world.browser("Mona Manager")
    assert "1.5 h" in manager.open("/look-back").words()
    words = manager.open("/look-back/gas").words()
    assert "1.5 h" in words and "Fills of the day" in words and "20 bar" in words


def test_a_day_with_nothing_on_it(world: World) -> None:
    manager = world.browser("Mona Manager")
    page = manager.open(f"/look-back?day={DAY - timedelta(days=3)}")
    words = page.words()
    assert "None written down." in words and "Nothing is open" in words
    assert "The dives of the day appear here" in words
    assert "The dives of the day appear here" in words
    for day in ("nonsense", "9999-12-31"):
        assert manager.open(f"/look-back?day={day}").status == 404
        assert manager.open(f"/days/{day}/sheet").status == 404
        token = page.find("input", name="token")[0].get("value") or ""
        assert manager.post(f"/look-back/{day}/close", {"key": "k" * 32, "token": token}).status == 404
    sheet = manager.open(f"/days/{DAY - timedelta(days=3)}/sheet")
    assert "Each group of the day appears here" in sheet.words() and "Code of the trail" in sheet.words()


def test_unread_serious_ones_come_first(world: World) -> None:
    desk = world.browser("Dora Desk")
    write_one(desk, what="A mask was lost.")
    write_one(desk, what="A guest fainted ashore.", severity="serious", category="injury_illness")
    words = world.browser("Mona Manager").open("/look-back").words()
    assert words.index("A guest fainted") < words.index("A mask was lost")


def test_look_back_is_the_managers(world: World) -> None:
    for name in ("Dora Desk", "Ines Instructor", "Lena Lead", "Kim Keeper"):
        browser = world.browser(name)
        token = browser.open("/today").find("input", name="token")[0].get("value") or ""
        assert browser.open("/look-back").status == 404
        assert browser.post(f"/look-back/{DAY}/close", {"key": "k" * 32, "token": token}).status == 404
        assert browser.open(f"/days/{DAY}/sheet").status == (404 if name == "Kim Keeper" else 200)
    with world.house.store.reading() as session:
        assert closed_day(session, DAY) is None


def test_the_day_is_closed_once_and_its_note_stays(world: World) -> None:
    manager = world.browser("Mona Manager")
    page = manager.open("/look-back")
    bad = page.send("close_day", note="x" * 2001)
    assert bad.status == 422 and "Shorten a note to 2000 characters" in bad.words()
    to, pairs = page.form_fields("close_day")
    typed = {**dict(pairs), "note": "A calm day."}
    assert manager.post(to, typed).status == 200 and manager.post(to, typed).status == 200
    done = manager.open("/look-back")
    assert "Closed by Mona Manager, Wed 15 Jul 09:00" in done.words() and "A calm day." in done.words()
    assert not done.forms("close_day")
    with world.house.store.reading() as session:
        row = closed_day(session, DAY)
    assert row is not None and row.note == "A calm day." and len(row.trail_head) > 8
    sheet = manager.open(f"/days/{DAY}/sheet").words()
    assert "Closed by Mona Manager at 09:00" in sheet


def test_an_incident_nobody_read_keeps_the_day_open(world: World) -> None:
    with world.act() as act:
        act.add(
            IncidentRow(
                day=DAY, happened_at=act.now, severity="serious", category="other", what="Somebody fell.",
                written_at=act.now, written_by_id=person_id(world, GUIDE), written_by=GUIDE,
            )
        )  # fmt: skip
    manager = world.browser("Mona Manager")
    page = manager.open("/look-back")
    assert "A serious incident is unread: Somebody fell. Read it and sign." in page.words()
    refused = page.send("close_day", note="kept")
    assert refused.status == 422 and "serious_incident_read" in refused.rules()
    assert "".join(refused.find("textarea", name="note")[0].itertext()).strip() == "kept"
    manager.open("/incidents/1").send("read_incident")
    assert manager.open("/look-back").send("close_day").status == 200


def test_the_day_sheet_tells_each_group_as_it_was(ready: Ready) -> None:
    ready.whole_dive(Ann=90)
    for name in ("Dora Desk", "Mona Manager"):
        page = ready.world.browser(name).open(f"/days/{DAY}/sheet")
        words = page.words()
        for said in (
            "10:30 Group A, Long Jetty",
            f"Plan 1 issued by {GUIDE}",
            f"Briefing whole, by {GUIDE}",
            "Surface watch Lena Lead",
            f"8 shown, {GUIDE}",
            "200 bar",
            "90 bar",
            "09:01",
            "09:19",
            "Greatest depth 7.5 m. Way up within the limit. Stop done. What happened: nothing.",
            "Not closed yet.",
            "not permission to dive",
        ):
            assert said in words, said
    assert "Trail" in page.text


def test_what_was_not_done_is_said_on_the_sheet(world: World) -> None:
    (ann,) = book(world, "Ann")
    group_of(world, [ann])
    words = world.browser("Dora Desk").open(f"/days/{DAY}/sheet").words()
    assert "No plan issued." in words and "Briefing not whole: 9 open." in words
    assert "none shown" in words and "not read" in words


def test_persons_in_and_back_are_counted_by_name(ready: Ready) -> None:
    manager = ready.world.browser("Mona Manager")
    assert "Nobody went in." in manager.open("/look-back").words()
    ready.go_in()
    page = manager.open("/look-back")
    assert "3 went in, 0 came back." in page.words()
    links = {e.get("href") for e in page.find("a")}
    assert {"/water/1/back", "/gas/cylinders/1"} <= links
    ready.world.clock.pass_minutes(18)
    for name in ready.members:
        ready.back(name)
    ready.count(3)
    ready.end_pressures()
    ready.write_dive()
    ready.close()
    ready.page("/wrap").send("cylinders_back")
    done = ready.world.browser("Mona Manager").open("/look-back").send("close_day")
    assert "3 went in, 3 came back." in done.words()
    with ready.world.house.store.reading() as session:
        row = closed_day(session, DAY)
    assert row is not None and (row.persons_in, row.persons_back) == (3, 3)


def test_what_is_worth_a_look_keeps_nothing_open(ready: Ready) -> None:
    ready.whole_dive(Bo=42)
    ready.page("/wrap").send("cylinders_back")
    manager = ready.world.browser("Mona Manager")
    page = manager.open("/look-back")
    assert {"cylinder_empty_below", "exit_check_asked"} <= page.rules()
    assert "Not asked how they are on coming out: Ann, Bo." in page.words()
    assert page.send("close_day").status == 200


def test_what_is_added_to_a_closed_day_marks_it_as_amended(world: World) -> None:
    manager = world.browser("Mona Manager")
    page = manager.open("/look-back")
    assert not page.forms("add_to_day")
    token = page.find("input", name="token")[0].get("value") or ""
    assert (
        manager.post(f"/look-back/{DAY}/add", {"key": "a" * 32, "token": token, "added": "x"}).status == 404
    )
    done = page.send("close_day")
    words = done.words()
    assert "as they were sealed" in words and "amended" not in words.lower().replace("amended after", "")
    assert not done.forms("close_day")
    world.clock.pass_minutes(1)
    empty = done.send("add_to_day", added=" ")
    assert empty.status == 422 and "Enter what to add." in empty.words()
    added = done.send("add_to_day", added="The second count was mine.")
    words = added.words()
    assert "Closed and amended" in words and "The second count was mine." in words
    assert "as they were sealed" in words
    assert manager.open("/incidents/new").send("write_incident", **TYPED).status == 200
    words = manager.open("/look-back").words()
    assert "an incident Mona Manager" in words and "as they were sealed" in words
    sheet = manager.open(f"/days/{DAY}/sheet").words()
    assert "Amended after closing: 2" in sheet and "The second count was mine." in sheet
    for name in ("Dora Desk", "Lena Lead"):
        other = world.browser(name)
        token = other.open("/today").find("input", name="token")[0].get("value") or ""
        sent = {"key": "b" * 32, "token": token, "added": "x"}
        assert other.post(f"/look-back/{DAY}/add", sent).status == 404


def test_a_closed_day_that_was_changed_behind_the_program_says_so(world: World) -> None:
    manager = world.browser("Mona Manager")
    with world.act() as act:
        act.add(
            IncidentRow(
                day=DAY, happened_at=act.now, severity="minor", category="other", what="A strap broke.",
                written_at=act.now, written_by="Mona Manager",
            )
        )  # fmt: skip
    manager.open("/look-back").send("close_day")
    with world.house.store.engine.begin() as connection:
        connection.execute(text("UPDATE incident SET severity = 'near-miss'"))
    page = manager.open("/look-back")
    assert "its records are not the ones that were sealed" in page.words()
    assert "its records are not the ones that were sealed" in manager.open(f"/days/{DAY}/sheet").words()
