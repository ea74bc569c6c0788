"""After the water: end pressures, times, what the dive was like, closing it, cylinders back."""

from sqlmodel import select

from app.records.tables.groups import CylinderOutRow, GroupRow
from app.records.tables.water import PressureRow
from tests.water_world import chosen, diver, rows_of
from tests.web_ready import GUIDE, POOL, Ready, ready_group
from tests.web_world import World


def test_pressures_on_the_way_and_at_the_end(ready: Ready) -> None:
    early = ready.page("/out")
    token = early.find("input", name="token")[0].get("value") or ""
    too_early = {"key": "k" * 32, "token": token, "moment": "end", f"bar_{ready.members['Ann']}": "90"}
    refused = ready.phone.post(ready.at("/pressures"), too_early)
    assert refused.status == 422 and "has not gone in" in refused.words() and diver(ready, "Ann").end is None
    ready.go_in()
    for bar in ("160", "120"):
        ready.page("/back").send("read_pressures", **{f"bar_{ready.members['Ann']}": bar})
        ready.world.clock.pass_minutes(5)
    during = [one for one in rows_of(ready, PressureRow) if one.moment == "during"]
    assert [one.bar for one in during] == [160, 120]
    for name in ready.members:
        ready.back(name)
    page = ready.page("/wrap")
    assert {e.get("value") for e in page.find("input") if (e.get("name") or "").startswith("bar_")} == {""}
    done = page.send(
        "read_pressures",
        **{f"bar_{n}": {"Ann": "25", "Bo": "100"}.get(name, "") for name, n in ready.members.items()},
    )
    assert done.status == 200 and "Ann: Unusual. Check the gauge." in done.words()
    assert "Ann: 25 bar Unusual. Check the gauge." in done.words()
    rose = done.send("read_pressures", **{f"bar_{ready.members[GUIDE]}": "210"})
    assert "It was 200 bar before." in rose.words()


def test_a_pressure_put_right_keeps_the_old_figure(ready: Ready) -> None:
    ready.everybody_out()
    ready.end_pressures(Ann=70)
    at = ready.at(f"/pressures/{ready.members['Ann']}/end")
    page = ready.page("/wrap")
    bad = page.send("put_pressure_right", at, bar="700", why="")
    assert bad.status == 422 and "Enter why it is put right." in bad.words()
    assert "The pressure must be between 0 and 300 bar." in bad.words()
    assert [e.get("value") for e in bad.find("input", id=f"f-end-{ready.members['Ann']}-bar")] == ["700"]
    to, pairs = page.form_fields("put_pressure_right", at)
    typed = {**dict(pairs), "bar": "90", "why": "read upside down"}
    assert ready.phone.post(to, typed).status == 200 and ready.phone.post(to, typed).status == 200
    words = ready.page("/wrap").words()
    assert "Ann: 90 bar" in words and "read upside down" in words and "before that 70 bar" in words
    ends = [one.bar for one in rows_of(ready, PressureRow) if one.member_id == ready.members["Ann"]]
    assert ends == [200, 70, 90]
    never = ready.at(f"/pressures/{ready.members['Ann']}/start")
    assert ready.page("/wrap").send("put_pressure_right", never, bar="198", why="typo").status == 200
    start = diver(ready, "Ann").start
    assert start is not None and start.bar == 198


def test_times_are_put_right_and_the_earlier_ones_stay(ready: Ready) -> None:
    ready.everybody_out()
    at = ready.at(f"/times/{ready.members['Ann']}")
    page = ready.page("/wrap")
    assert "Ann in 09:01, out 09:19" in page.words()
    for went, back, sentence in (
        ("09:10", "09:09", "The time out must be after the time in."),
        ("9", "09:20", "Enter the time in as hours and minutes"),
    ):
        bad = page.send("put_times_right", at, went=went, back=back, why="watch")
        assert bad.status == 422 and sentence in bad.words()
        assert bad.find("input", id=f"f-t{ready.members['Ann']}-went")[0].get("value") == went
    assert "Enter why they are put right." in page.send("put_times_right", at, why="").words()
    done = page.send("put_times_right", at, went="09:02", back="09:21", why="watch")
    assert done.status == 200 and "Ann in 09:02, out 09:21" in done.words()
    assert "Bo in 09:01, out 09:19" in done.words() and ready.in_water() == set()
    assert len(ready.events()) == 8 and ready.events()[-1].flag == "time put right: watch"


def test_times_of_somebody_in_the_water_are_not_put_right(ready: Ready) -> None:
    ready.go_in()
    page = ready.page("/wrap")
    assert "Somebody is still in the water" in page.words() and not page.forms("put_times_right")
    token = page.find("input", name="token")[0].get("value") or ""
    typed = {"key": "k" * 32, "token": token, "went": "09:00", "back": "09:20", "why": "x"}
    sent = ready.phone.post(ready.at(f"/times/{ready.members['Ann']}"), typed)
    assert sent.status == 422 and "once this person is marked as back" in sent.words()
    assert ready.in_water() == set(ready.members)


def test_a_return_before_the_entry_is_put_right_before_closing(ready: Ready) -> None:
    ready.go_in(time="09:10")
    for name in ready.members:
        ready.back(name)
    ready.count(3)
    ready.end_pressures()
    ready.write_dive()
    refused = ready.close()
    assert refused.status == 422 and "exit_after_entry" in refused.rules()
    for number in ready.members.values():
        ready.page("/wrap").send(
            "put_times_right", ready.at(f"/times/{number}"), went="09:01", back="09:20", why="typed wrongly"
        )
    assert ready.close().status == 200


def test_the_dive_is_written_down_and_closed_once_everything_is_said(ready: Ready) -> None:
    ready.everybody_out()
    refused = ready.close()
    assert refused.status == 422 and {"pressure_read", "incident_answered"} <= refused.rules()
    page = ready.page("/wrap")
    bad = ready.write_dive(page, depth="deep", ascent="", stop="", anything="something")
    for sentence in (
        "Write the greatest depth as a number in m",
        "Choose how fast the way up was.",
        "Choose whether the stop was done.",
        "Enter what happened.",
    ):
        assert bad.status == 422 and sentence in bad.words()
    assert bad.find("input", name="depth")[0].get("value") == "deep"
    assert chosen(bad, "anything") == ["something"]
    blank = ready.write_dive(page, anything="")
    assert blank.status == 422 and "Choose whether anything happened." in blank.words()
    stale = ready.page("/wrap")
    done = ready.write_dive(page, depth="7,5", anything="something", happened="A mask strap tore.")
    assert done.status == 200 and "Write down what happened as an incident" in done.words()
    clash = ready.write_dive(stale, depth="6")
    assert clash.status == 409 and "7.5" in clash.words() and "6" in clash.words()
    assert clash.find("input", name="depth")[0].get("value") == "6"
    ready.end_pressures()
    closed = ready.close()
    assert closed.status == 200 and f"Closed at 09:19 by {GUIDE}" in closed.words()
    group = ready.group()
    assert (group.greatest_depth_m, group.stop_done, group.happened) == (7.5, True, "A mask strap tore.")
    nowhy = ready.write_dive(depth="7.4")
    assert nowhy.status == 422 and "Enter why it is put right." in nowhy.words()
    assert ready.write_dive(depth="7.4", why="computer").status == 200
    assert ready.group().greatest_depth_m == 7.4 and ready.group().closed_at is not None


def test_cylinders_come_back_together_and_not_while_somebody_is_in(ready: Ready) -> None:
    ready.go_in()
    token = ready.page("/back").find("input", name="token")[0].get("value") or ""
    early = ready.phone.post(ready.at("/cylinders-back"), {"key": "k" * 32, "token": token})
    assert early.status == 422 and "roll_call_by_name" in early.rules()
    assert all(one.back_at is None for one in rows_of(ready, CylinderOutRow))
    ready.world.clock.pass_minutes(10)
    for name in ready.members:
        ready.back(name)
    ready.count(3)
    ready.end_pressures()
    ready.write_dive()
    done = ready.close().send("cylinders_back")
    assert done.status == 200 and "Cylinders are back" in done.words()
    assert all(one.back_by == GUIDE for one in rows_of(ready, CylinderOutRow))


def test_the_pool_asks_for_no_plan_and_no_stop(world: World) -> None:
    ready = ready_group(world, "Ann", slot_id=POOL, depth_m=2)
    page = ready.page()
    assert "Sign what you saw." in page.words()
    assert ready.go_in().status == 200
    world.clock.pass_minutes(12)
    for name in ready.members:
        ready.back(name)
    ready.count(2)
    ready.end_pressures()
    wrap = ready.page("/wrap")
    assert not wrap.find("input", name="stop")
    done = wrap.send("write_dive", depth="2", ascent="slower", anything="nothing")
    assert done.status == 200 and ready.close().status == 200 and ready.group().stop_done is None


def test_a_group_of_yesterday_is_closed_the_next_morning(ready: Ready) -> None:
    ready.everybody_out()
    ready.world.clock.pass_minutes(24 * 60)
    ready.phone = ready.world.browser(GUIDE)
    ready.end_pressures()
    ready.write_dive()
    assert ready.close().status == 200
    with ready.world.house.store.reading() as session:
        assert session.exec(select(GroupRow.closed_by)).one() == GUIDE
