"""What the record of a dive shows: incidents write themselves, and the day stays open until all is told."""

from datetime import timedelta

import pytest

from app.records.look_back.incidents import incidents_of_group
from tests.water_world import closing, made_by, procedures, written_down
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, Page


@pytest.mark.parametrize(
    ("bars", "dive", "rules"),
    [
        ({}, {}, []),
        ({}, {"depth": "9"}, ["plan_current"]),
        ({}, {"depth": "11"}, ["depth_plan_default"]),
        ({}, {"ascent": "faster"}, ["ascent_rate_max"]),
        ({"Ann": 49}, {}, ["end_pressure_min"]),
        ({"Ann": 40, "Bo": 41}, {}, ["end_pressure_min", "end_pressure_min"]),
        ({"Ann": 205}, {}, ["no_pressure_rise"]),
    ],
)
def test_what_the_record_shows_makes_an_incident(
    ready: Ready, bars: dict[str, float], dive: dict[str, str], rules: list[str]
) -> None:
    ready.everybody_out()
    ready.end_pressures(**bars)
    ready.write_dive(**dive)
    before = ready.page("/wrap")
    assert closing(ready).status == 200 and made_by(ready) == rules
    again = before.send("close_dive")
    assert again.status == 200 and made_by(ready) == rules, "closing twice writes nothing twice"


def test_a_figure_put_right_after_closing_makes_its_incident(ready: Ready) -> None:
    assert ready.whole_dive().status == 200 and made_by(ready) == []
    at = ready.at(f"/pressures/{ready.members['Ann']}/end")
    ready.page("/wrap").send("put_pressure_right", at, bar="45", why="read upside down")
    assert made_by(ready) == ["end_pressure_min"]
    ready.page("/wrap").send("put_pressure_right", at, bar="44", why="once more")
    with ready.world.house.store.reading() as session:
        (one,) = incidents_of_group(session, ready.group_id)
    assert "45 bar" in one.row.what and ["44 bar" in note.note for note in one.notes] == [True]
    ready.write_dive(depth="9", why="computer read later")
    assert sorted(made_by(ready)) == ["end_pressure_min", "plan_current"]


def test_a_figure_that_was_wrong_leaves_its_incident_and_says_so(ready: Ready) -> None:
    """What the record shows no more is added to the incident; what it shows again is added again."""
    ann = str(ready.members["Ann"])
    assert ready.whole_dive(Ann=45).status == 200
    ready.write_dive(depth="13", ascent="faster", separated=ann, why="computers read")
    made = ["end_pressure_min", "depth_plan_default", "ascent_rate_max", "separation_search"]
    assert made_by(ready) == made
    at = ready.at(f"/pressures/{ready.members['Ann']}/end")
    ready.page("/wrap").send("put_pressure_right", at, bar="205", why="another gauge")
    made.append("no_pressure_rise")
    ready.page("/wrap").send("put_pressure_right", at, bar="95", why="read upside down")
    for _ in range(2):
        ready.write_dive(depth="9", ascent="slower", separated="", why="another group's computer")
    made.append("plan_current")
    ready.write_dive(depth="7.5", why="still not ours")
    gone = "does not show this any more"
    with ready.world.house.store.reading() as session:
        found = incidents_of_group(session, ready.group_id)
    assert [one.row.made_by for one in found] == made
    for one in found:
        assert [gone in note.note for note in one.notes] == [True], one.row.made_by
        assert one.notes[0].by == f"Daybuoy, after {GUIDE}"
    ready.write_dive(depth="13", why="ours after all")
    ready.page("/wrap").send("put_pressure_right", at, bar="45", why="right at first")
    with ready.world.house.store.reading() as session:
        again = {one.row.made_by: one for one in incidents_of_group(session, ready.group_id)}
    assert len(again) == len(made)
    for rule in ("depth_plan_default", "end_pressure_min"):
        assert [note.note for note in again[rule].notes][1:] == [again[rule].row.what]
    # What happens on the way up is on the timeline when they came out, not when they went in.
    group = ready.group()
    assert group.entered_at is not None
    back = group.entered_at + timedelta(minutes=18)
    assert again["end_pressure_min"].row.happened_at == again["ascent_rate_max"].row.happened_at == back
    assert again["depth_plan_default"].row.happened_at == group.entered_at
    words = ready.world.browser("Mona Manager").open(f"/incidents/{again['ascent_rate_max'].row.id}").words()
    assert gone in words


def test_the_day_stays_open_for_each_open_thing(ready: Ready) -> None:
    manager = ready.world.browser("Mona Manager")

    def close_day() -> Page:
        manager.sign_in("Mona Manager")
        return manager.open(f"/look-back?day={DAY}").send("close_day")

    ready.go_in()
    assert {"roll_call_by_name", "counts_agree", "dive_closed", "cylinders_returned"} <= close_day().rules()
    ready.world.clock.pass_minutes(18)
    for name in ready.members:
        ready.back(name)
    assert "counts_agree" in close_day().rules() and "roll_call_by_name" not in close_day().rules()
    ready.page("/back").send("report_missing")
    ready.count(3)
    assert close_day().rules() >= {"missing_settled", "dive_closed", "serious_incident_read"}
    number = procedures(ready)[0].id
    ready.page("/back").send(
        "report_found", ready.at(f"/found/{number}"), member=str(ready.members["Bo"]), where="Ashore"
    )
    written_down(ready)
    assert closing(ready).status == 200
    assert close_day().rules() >= {"serious_incident_read", "cylinders_returned"}
    ready.page("/wrap").send("cylinders_back")
    refused = close_day()
    assert refused.status == 422 and "serious_incident_read" in refused.rules()
    assert not {"cylinders_returned", "dive_closed", "counts_agree"} & refused.rules()
    manager.open("/incidents/1").send("read_incident")
    done = close_day()
    assert done.status == 200 and "Closed by Mona Manager" in done.words()
    token = done.find("input", name="token")[0].get("value") or ""
    again = manager.post(f"/look-back/{DAY}/close", {"key": "a" * 32, "token": token})
    assert again.status == 422 and "was closed by Mona Manager before" in again.words()
    tomorrow = DAY + timedelta(days=1)
    early = manager.post(f"/look-back/{tomorrow}/close", {"key": "b" * 32, "token": token})
    assert early.status == 422 and "has not come yet" in early.words()


def test_what_a_signed_off_day_says_stays_as_it_was(ready: Ready) -> None:
    assert ready.whole_dive().status == 200
    ready.page("/wrap").send("cylinders_back")
    page = ready.page("/wrap")
    closed = ready.world.browser("Mona Manager").open("/look-back").send("close_day")
    assert closed.status == 200, closed.words()
    at = ready.at(f"/pressures/{ready.members['Ann']}/end")
    late = page.send("put_pressure_right", at, bar="45", why="late")
    assert late.status == 422 and "dive_closed" in late.rules()
    late = ready.write_dive(page, depth="9", why="late")
    assert late.status == 422 and "dive_closed" in late.rules()
    assert ready.group().greatest_depth_m == 7.5 and made_by(ready) == []
