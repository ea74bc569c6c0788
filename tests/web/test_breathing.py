"""The manager's page of breathing: bands held, what was learned, odd dives, earlier dives from paper."""

from xml.etree.ElementTree import Element

import pytest

from app.records.plans.breathing_log import Learned
from app.records.tables.breathing import EarlierBatchRow, EarlierDiveRow, EarlierTakenBackRow
from tests.breathing_world import Dive, simulated, store
from tests.water_world import rows_of
from tests.web_ready import Ready
from tests.web_world import Page, World

HERE = "/look-back/breathing"
PAPER = f"{HERE}/earlier"
LINES = "\n".join(
    (
        "date,mass,litres,start,end,minutes,depth,water",
        "2024-07-15, 72, 12, 200, 110, 22, 5.5, 17",
        "",
        "2024-07-16,58,10,195,95,22,5.5",
    )
)


def learned(world: World) -> Learned:
    """Return what the running shop believes."""
    with world.house.store.reading() as session:
        return world.house.breathing.now(session)


def pictures(page: Page) -> list[Element]:
    """Return the charts of a page."""
    return [e for e in page.root.iter() if e.tag.endswith("svg") and e.get("role") == "img"]


def test_an_empty_shop_says_that_nothing_is_known_yet(world: World) -> None:
    mona = world.browser("Mona Manager")
    assert mona.open("/look-back/learning").find("a", href=HERE)
    page = mona.open(HERE)
    words = page.words()
    assert "No dive of the last 30 days had a plan" in words and "no shop data yet" in words
    assert "21 L/min" in words and "None in the last 30 days." in words and not pictures(page)


def test_a_closed_dive_is_held_against_the_band_of_its_plan(ready: Ready) -> None:
    ready.whole_dive(Ann=140, Bo=20)
    mona = ready.world.browser("Mona Manager")
    page = mona.open(HERE)
    words = page.words()
    assert "Of 2 dives in 30 days, 1 ended inside the band (50 %). Too few to tell" in words
    assert "1 ended under their band" in words and "Dives that taught" in words
    assert "learned from 2 dives of this shop. Our own starting guess still weighs more." in words
    (svg,) = pictures(page)
    inside = {e.tag.rpartition("}")[2] for e in svg.iter()}
    assert {"title", "desc", "line", "circle", "polygon", "text"} <= inside
    rows = ["".join(e.itertext()) for e in page.find("tr")]
    assert any("Ann" in row and "140 bar" in row and "inside" in row for row in rows)
    assert any("Bo" in row and "20 bar" in row and "under" in row for row in rows)
    ready.page("/wrap").send(
        "put_pressure_right",
        ready.at(f"/pressures/{ready.members['Bo']}/end"),
        bar="135",
        why="misread",
    )
    assert "2 ended inside the band (100 %)" in mona.open(HERE).words()


def test_many_dives_give_bounds_and_odd_ones_are_told(world: World) -> None:
    # Seed 4: forty plain dives, then one that nobody can have breathed and one far out.
    store(world, simulated(4, 40))
    store(world, [Dive(200, 205, 12, 18, 6, 72), Dive(200, 15, 12, 14, 5, 72)], days_ago=2)
    page = world.browser("Mona Manager").open(HERE)
    words = page.words()
    assert "The end pressure is not under the start pressure." in words and "Logged 0" in words
    assert "Breathed far more than others" in words and "Weighs little" in words
    assert "learned from 41 dives of this shop." in words


def test_earlier_dives_are_looked_at_stored_once_and_taken_back(ready: Ready) -> None:
    mona = ready.world.browser("Mona Manager")
    page = mona.open(PAPER)
    review = page.send("review_earlier_dives", lines=LINES, note="logbook 2024")
    assert review.status == 200 and "Nothing is stored yet." in review.words()
    assert "2024-07-15" in review.text and "Store 2 dives" in review.text
    assert rows_of(ready, EarlierDiveRow) == [] and learned(ready.world).belief.dives == 0
    assert mona.open(f"{PAPER}/review").words().startswith("Earlier dives")
    to, pairs = review.form_fields("store_earlier_dives")
    done = mona.post(to, pairs)
    assert done.status == 200 and "Earlier dives stored." in done.words() and "logbook 2024" in done.words()
    assert mona.post(to, pairs).status == 200
    rows = rows_of(ready, EarlierDiveRow)
    assert [(one.mass_kg, one.end_bar, one.water_temp_c) for one in rows] == [(72, 110, 17), (58, 95, None)]
    assert learned(ready.world).belief.dives == 2
    again = mona.open(PAPER).send("review_earlier_dives", lines=f"{LINES}\n2024-07-17,60,10,195,95,22,5.5")
    assert "2 of them are here already and are left out." in again.words() and "Store 1 dive" in again.text
    same = mona.open(PAPER).send("review_earlier_dives", lines=LINES)
    assert not same.forms("store_earlier_dives")
    listed = mona.open(PAPER)
    at = f"{PAPER}/1/back"
    empty = listed.send("take_back_earlier_dives", at)
    assert empty.status == 422 and rows_of(ready, EarlierTakenBackRow) == []
    back = empty.send("take_back_earlier_dives", at, why="wrong cylinder sizes")
    assert back.status == 200 and "The list counts no more." in back.words()
    assert "taken back" in back.words() and "wrong cylinder sizes" in back.words()
    assert learned(ready.world).belief.dives == 0 and len(rows_of(ready, EarlierDiveRow)) == 2
    late = listed.send("take_back_earlier_dives", at, why="twice")
    assert late.status == 409 and "twice" in late.text and len(rows_of(ready, EarlierTakenBackRow)) == 1


def test_each_line_is_judged_and_nothing_is_stored_with_a_wrong_one(ready: Ready) -> None:
    mona = ready.world.browser("Mona Manager")
    wrong = {
        "2024-07-15,72,12,200,110,22": "This line has 6 columns",
        "15.07.2024;72;12;200;110;22;5,5": "Write the date as year-month-day",
        "2030-01-01,72,12,200,110,22,5": "The date must be between",
        "2024-07-15,7,12,200,110,22,5": "Body mass must be between 20 and 250 kg.",
        "2024-07-15,72,12,two,110,22,5": "Start pressure is not a number",
        "2024-07-15,72,12,110,200,22,5": "The end pressure is not under the start pressure.",
        "2024-07-15,72,12,200,110,3,5": "The dive is too short",
        "2024-07-15,72,12,200,195,60,5": "Nobody breathes like this.",
    }
    text = "\n".join(["2024-07-15;72,5;12;200;110;22;5,5", *wrong])
    page = mona.open(PAPER).send("review_earlier_dives", lines=text, note="x")
    assert page.status == 422 and "8 lines cannot be read" in page.words()
    for number, sentence in enumerate(wrong.values(), 2):
        assert f"Line {number}: {sentence}" in page.words()
    assert "2024-07-15;72,5;12;200;110;22;5,5" in (page.find("textarea")[0].text or "")
    for lines, said in (
        ("", "Enter the lines"),
        ("date,mass", "There is no dive"),
        ("x\n" * 1001, "At most 1000"),
    ):
        assert said in mona.open(PAPER).send("review_earlier_dives", lines=lines).words()
    assert rows_of(ready, EarlierBatchRow) == []


def test_what_changed_since_the_review_is_checked_again(ready: Ready) -> None:
    mona = ready.world.browser("Mona Manager")
    first = mona.open(PAPER).send("review_earlier_dives", lines=LINES)
    second = mona.open(PAPER).send("review_earlier_dives", lines=LINES)
    first.send("store_earlier_dives")
    late = second.send("store_earlier_dives")
    assert late.status == 422 and "All of these dives are here already." in late.words()
    assert len(rows_of(ready, EarlierBatchRow)) == 1
    broken = mona.open(PAPER).send("review_earlier_dives", lines="2024-07-18,60,10,195,95,22,5.5")
    refused = broken.send("store_earlier_dives", lines="2024-07-18,60,10,195")
    assert refused.status == 422 and "Line 1:" in refused.words()


def test_paper_teaches_the_plan(ready: Ready) -> None:
    mona = ready.world.browser("Mona Manager")
    hard = "\n".join(f"2024-07-{day:02d},70,12,200,{60 + day},20,6,17" for day in range(1, 29))
    plan = f"/groups/{ready.group_id}/plan"
    assert "no shop data yet" in mona.open(plan).words()
    mona.open(PAPER).send("review_earlier_dives", lines=hard).send("store_earlier_dives")
    assert "learned from 28 dives of this shop." in mona.open(plan).words()
    assert "breathing rates" in mona.open(plan).words()


@pytest.mark.parametrize("name", ["Dora Desk", "Lena Lead", "Kim Keeper"])
def test_only_the_manager_sees_and_stores(world: World, name: str) -> None:
    browser = world.browser(name)
    token = browser.open("/today").find("input", name="token")[0].get("value") or ""
    for path in (HERE, PAPER, f"{PAPER}/review"):
        assert browser.open(path).status == 404
    for number, path in enumerate((PAPER, f"{PAPER}/review", f"{PAPER}/1/back")):
        sent = {"key": f"{number}" * 32, "token": token, "lines": LINES, "note": ""}
        assert browser.post(path, sent).status == 404


def test_a_list_that_is_not_there(world: World) -> None:
    mona = world.browser("Mona Manager")
    token = mona.open("/today").find("input", name="token")[0].get("value") or ""
    assert mona.post(f"{PAPER}/9/back", {"key": "k" * 32, "token": token, "why": "x"}).status == 404


def test_an_issued_plan_outlives_dives_logged_and_falls_only_when_it_no_longer_holds(ready: Ready) -> None:
    mona = ready.world.browser("Mona Manager")
    plan = "/plans/1"
    assert "Out of date" not in mona.open(plan).words()
    before = mona.open(plan).words().split("Gas of each diver")[-1]
    # Seed 6: a calm shop, then guests who breathe a little more; the plan still holds with both.
    store(ready.world, simulated(6, 12, factor=0.9), days_ago=9)
    assert "Out of date" not in mona.open(plan).words()
    store(ready.world, simulated(16, 3, factor=1.3), days_ago=8)
    later = mona.open(plan).words()
    assert "Out of date" not in later and later.split("Gas of each diver")[-1] == before
    # Seed 26: sixty dives of guests who breathe half as much again; the plan no longer holds.
    store(ready.world, simulated(26, 60, factor=1.5), days_ago=7)
    assert "Out of date because of: breathing rates." in mona.open(plan).words()
