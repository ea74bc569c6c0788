"""The gas log: who stands out, what explains an end against the plan, and days, weeks and seasons."""

import re
from datetime import timedelta

import pytest

from app.planning.breathing import end_at_rate
from app.planning.units import METRIC
from app.records.look_back.dive_lines import DiverLine
from app.records.look_back.gas_log import gas_day
from app.records.look_back.gas_periods import gas_periods, months_before
from app.web.figures import Figures
from app.web.look_back.gas_log import why_odd
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, World

HERE = "/look-back/gas"


def lines(world: World) -> dict[str, DiverLine]:
    """Return the day's divers by name."""
    with world.house.store.reading() as session:
        return {line.name: line for dive in gas_day(session, DAY).dives for line in dive.lines}


def test_the_day_names_who_stands_out_first_and_says_why(ready: Ready) -> None:
    ready.whole_dive(Ann=120, Bo=42)
    told = lines(ready.world)
    assert told["Bo"].under_reserve and told["Bo"].odd and told["Bo"].outside_band
    page = ready.world.browser("Mona Manager").open(HERE)
    words = page.words()
    assert "Look at these first" in words and "back under the reserve of" in words
    assert words.index("Look at these first") < words.index("Greatest depth")
    assert "end_pressure_min" in page.rules() and "42 bar, under reserve" in words
    assert f"The lowest gauge at the end read {min(told['Bo'].end_bar or 0, 42):g} bar." in words
    assert "<svg" in page.text and "not read" in words
    # The table under the picture says what it draws.
    (table,) = [one for one in page.find("table") if "against the bands" in "".join(one.itertext())]
    rows = ["".join(row.itertext()) for row in table.iter("tr")]
    for name in ("Ann", "Bo"):
        low, high = told[name].band_bar or (0.0, 0.0)
        (row,) = [one for one in rows if one.strip().startswith(name)]
        assert all(f"{figure:.0f} bar" in row for figure in (told[name].end_bar or 0, low, high))
    assert ready.world.browser("Mona Manager").open("/look-back").find("a", href=f"{HERE}?day={DAY}")


def test_causes_of_a_gap_add_up_and_are_told_in_words(ready: Ready) -> None:
    ready.whole_dive(Ann=90)
    ann = lines(ready.world)["Ann"]
    gap, plan, dived = ann.gap, ann.planned, ann.dived
    assert gap is not None and plan is not None and dived is not None
    parts = gap.start_bar + gap.depth_bar + gap.minutes_bar + gap.breathing_bar
    assert 90 - gap.expected_end_bar == pytest.approx(parts)
    # The whole of it, worked out the other way round: the plan's own rate on the dive that was dived.
    alone = end_at_rate(dived, plan.expected_rate_l_min) - end_at_rate(
        plan.as_dive(dived), plan.expected_rate_l_min
    )
    assert gap.start_bar + gap.depth_bar + gap.minutes_bar == pytest.approx(alone)
    page = ready.world.browser("Mona Manager").open(f"{HERE}/divers/{ready.members['Ann']}")
    words = page.words()
    for said in (
        "Expected end",
        "Start pressure",
        "Minutes in the water",
        "Nine of ten such dives end",
        "90 bar",
    ):
        assert said in words
    assert f"{ann.settled_rate_l_min:.1f} L/min" in words and "16 °C" in words
    assert "Lemmon et al. 2000" in words


def test_missing_figures_are_said_as_missing(ready: Ready) -> None:
    ready.everybody_out()
    ann = lines(ready.world)["Ann"]
    assert ann.missing == ("end pressure", "greatest depth") and ann.odd and ann.used_litres is None
    assert "no end pressure written down" in why_odd(ann, Figures(METRIC))
    mona = ready.world.browser("Mona Manager")
    assert "a figure is missing" in mona.open(HERE).words()
    words = mona.open(f"{HERE}/divers/{ready.members['Ann']}").words()
    assert "Not written down: end pressure" in words and "wrap-up page" in words
    assert not re.search(r"\b(None|nan)\b", words)


def test_weeks_and_seasons_add_the_days(ready: Ready) -> None:
    ready.whole_dive(Ann=90, Bo=42)
    told = lines(ready.world)
    guests = [told["Ann"], told["Bo"]]
    with ready.world.house.store.reading() as session:
        months = gas_periods(session, ready.world.house, months_before(DAY, 12))
    assert [one.went_in for one in months] == [0] * 11 + [3]
    july = months[-1]
    assert july.guest_dives == 2 and july.without_figures == 3 - july.dives
    assert july.guest_litres == pytest.approx(sum(one.used_litres or 0 for one in guests))
    assert july.lowest_end_bar == 42 and july.under_reserve == 1
    mona = ready.world.browser("Mona Manager")
    for span, busiest in (("week", "Wed 15 Jul"), ("season", "Jul 2026")):
        page = mona.open(f"{HERE}?span={span}&day={DAY}")
        words = page.words()
        assert "2 guests' dives took" in words and f"The busiest was {busiest} with 3 people" in words
        assert len(page.find("tr")) == (8 if span == "week" else 2)
    later = mona.open(f"{HERE}?span=week&day={DAY + timedelta(days=30)}").words()
    assert "No guest's dive with all its figures in this week." in later


def test_who_reads_it_and_which_addresses(ready: Ready) -> None:
    ready.go_in(stays=("Bo",))
    ready.world.clock.pass_minutes(2)
    ashore = f"{HERE}/divers/{ready.members['Bo']}"
    words = ready.world.browser("Mona Manager").open(HERE).words()
    assert "2 still in the water." in words and "dived and breathed" not in words
    for name, status in ((GUIDE, 200), ("Lena Lead", 200), ("Dora Desk", 404), ("Kim Keeper", 404)):
        assert ready.world.browser(name).open(HERE).status == status, name
    mona = ready.world.browser("Mona Manager")
    assert [mona.open(at).status for at in (ashore, f"{HERE}/divers/99", f"{HERE}?span=moon")] == [404] * 3
    assert "Nobody has been in the water" in mona.open(f"{HERE}?day={DAY - timedelta(days=3)}").words()
