"""The daily chores: run once a day, told when they fail, never in the way of the shop."""

import threading
import time
from collections.abc import Iterator
from datetime import datetime
from datetime import time as clock_time
from pathlib import Path

import pytest

from app.actions import chores
from app.actions.chore import Chore, ChoreFailed
from app.actions.chores import DailyChores
from app.records.store.at_work import Say
from app.records.store.chores import failing, last_runs
from app.records.store.house import House, open_house
from app.settings.config import Settings
from tests.web_world import World, make_world


@pytest.fixture
def world(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[World]:
    """A shop with no chores but those of the test."""
    monkeypatch.setattr(chores, "CHORES", {})
    made = make_world(tmp_path)
    yield made
    made.house.close()


def good(house: House, now: datetime, say: Say) -> str:
    say("Counting.")
    return "3 things counted."


def bad(house: House, now: datetime, say: Say) -> str:
    raise ChoreFailed("The disk is not there. Plug it in.")


def broken(house: House, now: datetime, say: Say) -> str:
    raise ZeroDivisionError("with a name in it")


def put(key: str, work: object, clock: clock_time | None = clock_time(3, 30)) -> None:
    chores.CHORES[key] = Chore(key, f"The {key}", clock, work)  # type: ignore[arg-type]


def test_each_chore_runs_once_a_day_and_a_failed_one_does_not_keep_the_next_from_running(
    world: World,
) -> None:
    for key, work in (("bad", bad), ("broken", broken), ("good", good)):
        put(key, work)
    put("asked", good, None)
    assert chores.run_due(world.house) == ["bad", "broken", "good"]
    assert chores.run_due(world.house) == []
    with world.house.store.reading() as session:
        last = last_runs(session)
        assert [run.chore for run in failing(session, chores.CHORES)] == ["bad", "broken"]
    assert last["good"].good is not None and last["good"].good.said == "3 things counted."
    assert last["bad"].newest is not None and last["bad"].newest.said == "The disk is not there. Plug it in."
    assert last["broken"].newest is not None and "with a name" not in last["broken"].newest.said
    world.clock.pass_minutes(61)
    assert chores.run_due(world.house) == ["bad", "broken"]
    world.clock.pass_minutes(24 * 60)
    put("bad", good)
    assert chores.run_due(world.house) == ["bad", "broken", "good"]
    with world.house.store.reading() as session:
        assert [run.chore for run in failing(session, chores.CHORES)] == ["broken"]


def test_nothing_is_due_before_the_shop_is_set_up(tmp_path: Path) -> None:
    house = open_house(Settings(data=tmp_path / "new"))
    assert chores.due(house) == []
    house.close()


def test_a_chore_asked_for_begins_at_once_and_tells_what_it_is_at(world: World) -> None:
    go_on, began = threading.Event(), threading.Event()

    def slow(house: House, now: datetime, say: Say) -> str:
        say("Half way.")
        began.set()
        go_on.wait(10)
        return "Done."

    put("slow", slow)
    before = time.perf_counter()
    assert chores.begin(world.house, "slow", "Mona Manager")
    assert time.perf_counter() - before < 1
    began.wait(10)
    now = world.house.at_work.now
    assert now is not None and (now.key, now.step, now.asked_by) == ("slow", "Half way.", "Mona Manager")
    assert not chores.begin(world.house, "slow", "Dora Desk"), "one long work at a time"
    assert chores.run_due(world.house) == []
    go_on.set()
    world.house.at_work.wait(10)
    assert world.house.at_work.now is None
    with world.house.store.reading() as session:
        run = last_runs(session)["slow"].good
        assert run is not None and run.asked_by == "Mona Manager"


def test_the_thread_runs_what_was_missed_soon_after_the_start_and_stops_in_the_middle(world: World) -> None:
    began = threading.Event()

    def endless(house: House, now: datetime, say: Say) -> str:
        while True:
            began.set()
            time.sleep(0.01)
            say("Still at it.")

    put("endless", endless)
    thread = DailyChores(world.house, first_look=0.01, every=0.01)
    thread.start()
    assert began.wait(10)
    thread.stop()
    with world.house.store.reading() as session:
        assert last_runs(session) == {}, "what was left off is due again at the next start"
