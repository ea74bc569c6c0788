"""One cylinder's life through HTTP: its figures, its picture, and how far back it looks."""

from datetime import date, timedelta

import pytest

from app.records.gas_room.cylinder_life import life_of
from app.records.look_back.gas_log import gas_day
from app.records.tables.cylinders import (
    CylinderRow,
    CylinderTestRow,
    FillRow,
    QuarantineRow,
    ReadingRow,
    StationTripRow,
)
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, World


def drawn(text: str) -> str:
    """Return the source of the page's picture."""
    return text.split('<figure class="chart">')[1].split("</figure>", maxsplit=1)[0]


def test_fills_dives_and_litres_of_a_week(ready: Ready) -> None:
    ready.whole_dive(Ann=90)
    with ready.world.house.store.reading() as session:
        (dive,) = gas_day(session, DAY).dives
        ann = next(line for line in dive.lines if line.name == "Ann")
        number = next(n for n in (1, 2, 3) if life_of(session, n, None).row.number == ann.cylinder)
        life = life_of(session, number, None)
    assert (life.fills, life.dives) == (1, 1)
    assert life.breathed_litres == pytest.approx(ann.used_litres)
    assert [(one.what, one.bar) for one in life.points] == [
        ("filled", 200), ("start of a dive", 200), ("end of a dive", 90),
    ]  # fmt: skip
    desk = ready.world.browser("Dora Desk")
    page = desk.open(f"/gas/cylinders/{number}/life")
    words = page.words()
    assert f"Filled once, 1 dive, {life.breathed_litres:.0f} L breathed. Last known: 90 bar" in words
    assert "136 days" in words, "looked inside on 1 March"
    svg = drawn(page.text)
    assert 'role="img"' in svg and f"Pressure of cylinder {ann.cylinder}" in svg
    assert "3 pressures between 90 bar and 200 bar" in svg and "<polygon" in svg and "<circle" in svg
    assert f"/gas/cylinders/{number}/life" in desk.open(f"/gas/cylinders/{number}").text


def test_a_longer_span_shows_more_and_times_aside_and_tests_are_marked(ready: Ready) -> None:
    with ready.world.act() as act:
        for days in (10, 200):
            at = act.now - timedelta(days=days)
            act.add(ReadingRow(cylinder_id=1, bar=days, read_value=days, at=at, by=GUIDE))
        aside, ago = act.now - timedelta(days=5), act.now - timedelta(days=60)
        lifted = aside + timedelta(days=1)
        act.add(QuarantineRow(cylinder_id=1, why="Valve leaks", at=aside, by=GUIDE, lifted_at=lifted))
        trip = StationTripRow(cylinder_id=1, station="Harbour works", sent_at=ago, sent_by=GUIDE)
        trip.back_at, trip.outcome = ago + timedelta(days=10), "passed"
        act.add(trip)
        act.add(CylinderTestRow(cylinder_id=1, visual_on=DAY - timedelta(days=52), at=act.now, by="x"))
    browser = ready.world.browser("Mona Manager")
    counts = {}
    for span in ("week", "season", "all"):
        page = browser.open(f"/gas/cylinders/1/life?span={span}")
        counts[span] = page.text.count('data-label="Gauge"')
        assert "Valve leaks" in page.words() and "aside or away" in drawn(page.text)
        assert ("Harbour works" in page.words()) is (span != "week")
        assert ("looked inside" in page.words()) is (span != "week")
    assert counts["week"] + 2 == counts["season"] + 1 == counts["all"]


def test_many_points_are_drawn_as_a_line_and_the_table_says_how_many_more(ready: Ready) -> None:
    with ready.world.act() as act:
        for number in range(300):
            at = act.now - timedelta(days=120) + timedelta(hours=8 * number)
            act.add(FillRow(cylinder_id=1, start_bar=60, end_bar=200, temp_c=20, at=at, by_id=1, by=GUIDE))
    page = ready.world.browser(GUIDE).open("/gas/cylinders/1/life?span=season")
    svg = drawn(page.text)
    assert "<polygon" not in svg and len(svg) < 25_000 and "Filled 301 times" in page.words()
    assert page.text.count('data-label="Gauge"') == 100 and "earlier ones" in page.words()


def test_a_cylinder_without_a_pressure_says_what_would_stand_there(world: World) -> None:
    with world.act() as act:
        act.add(CylinderRow(number="N1", litres=12, working_pressure_bar=232, last_visual=date(2026, 7, 14)))
        act.add(CylinderRow(number="N2", litres=12, working_pressure_bar=232))
    lead = world.browser("Lena Lead")
    page = lead.open("/gas/cylinders/1/life")
    assert "No pressure was written down in this time." in page.words() and "1 day " in page.words()
    assert "no test on file" in lead.open("/gas/cylinders/2/life?span=all").words()
    assert lead.open("/gas/cylinders/99/life").status == 404
    assert lead.open("/gas/cylinders/1/life?span=century").status == 404
    assert world.browser("Kim Keeper").open("/gas/cylinders/1/life").status == 404
