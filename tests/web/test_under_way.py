"""Gauges read while a group is under water: the new end and turn, who is first, and the desk that writes."""

import re

from app.records.tables.water import PressureRow
from tests.water_world import rows_of
from tests.web_ready import Ready
from tests.web_world import Page


def during(ready: Ready, **bars: float) -> Page:
    """Read gauges on the way, on the guide's phone."""
    said = {f"bar_{ready.members[name]}": f"{bar:g}" for name, bar in bars.items()}
    return ready.page("/back").send("read_pressures", moment="during", **said)


def states(ready: Ready, page: Page) -> dict[str, str]:
    """Return how far each diver is from the turn."""
    (card,) = page.find("section", id="gauges")
    told = {e.get("data-diver"): e.get("data-gas") or "" for e in card.iter() if e.get("data-diver")}
    return {name: told[str(number)] for name, number in ready.members.items() if str(number) in told}


def test_before_a_reading_the_plan_says_who_turns_first(ready: Ready) -> None:
    ready.go_in()
    page = ready.page("/back")
    assert "reaches the turn first" in page.words() and "nobody has read a gauge" in page.words()
    assert set(states(ready, page)) == set(ready.members)


def test_a_reading_narrows_the_band_and_names_who_turns_first(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(8)
    page = during(ready, Ann=165, Bo=140)
    words = page.words()
    assert "Bo reaches the turn first" in words
    assert "140 bar at minute 8" in words and "nine of ten" in words
    said = words.split("140 bar at minute 8. End ")[1]
    end, low, high = (int(said.split(" bar")[n].split()[-1]) for n in range(3))
    assert low < end < high and high - low < 45
    assert states(ready, page)["Ann"] == "far"
    ready.world.clock.pass_minutes(4)
    turn = during(ready, Bo=98)
    assert "Bo is at the turn pressure. Turn now." in turn.words()
    assert states(ready, turn)["Bo"] == "turn"


def test_before_a_reading_the_gauge_at_the_edge_counts_as_it_does_on_the_plan_page(ready: Ready) -> None:
    """Read without a thermometer it counts as warm: the water page must not promise more than the plan's."""
    said = {f"bar_{number}": "192" for number in ready.members.values()}
    assert ready.page().send("read_pressures", moment="start", **said).status == 200
    assert ready.go_in().status == 200
    plan = ready.phone.open(f"/groups/{ready.group_id}/plan").words()
    told = re.search(r"about minute (\d+)", plan)
    assert told is not None
    assert f"Turn by minute {told[1]}," in ready.page("/back").words()


def test_who_is_back_is_not_listed(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(8)
    ready.back("Ann")
    assert "Ann" not in states(ready, ready.page("/back"))


def test_a_gauge_that_fell_by_nothing_is_looked_at_again(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(5)
    assert "no gas used by that" in during(ready, Ann=200).words()


def test_the_desk_writes_what_divers_signal_once(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(7)
    dora = ready.world.browser("Dora Desk")
    page = ready.page("/back", dora)
    before = len(rows_of(ready, PressureRow))
    empty = page.send("read_on_the_way")
    assert empty.status == 422 and "No pressure was typed." in empty.words()
    wild = empty.send("read_on_the_way", **{f"bar_{ready.members['Ann']}": "900"})
    assert wild.status == 422 and "900" in wild.text and len(rows_of(ready, PressureRow)) == before
    to, pairs = ready.page("/back", dora).form_fields("read_on_the_way")
    name = f"bar_{ready.members['Ann']}"
    said = [(key, value) for key, value in pairs if key != name] + [(name, "160")]
    kept = dora.post(to, said)
    assert kept.status == 200 and "Pressures kept." in kept.words() and "160 bar at minute 7" in kept.words()
    assert dora.post(to, said).status == 200
    rows = rows_of(ready, PressureRow)
    assert len(rows) == before + 1 and (rows[-1].moment, rows[-1].by) == ("during", "Dora Desk")
    assert not ready.page("/back").forms("read_on_the_way")


def test_roles_and_numbers(ready: Ready) -> None:
    ready.go_in()
    kim = ready.world.browser("Kim Keeper")
    token = kim.open("/today").find("input", name="token")[0].get("value") or ""
    assert kim.post(ready.at("/on-the-way"), {"key": "k" * 32, "token": token}).status == 404
    dora = ready.world.browser("Dora Desk")
    token = dora.open("/today").find("input", name="token")[0].get("value") or ""
    assert dora.post("/water/99/on-the-way", {"key": "j" * 32, "token": token}).status == 404
