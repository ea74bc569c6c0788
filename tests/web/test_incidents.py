"""Incidents: a line by anybody, finished later, corrected by additions, followed up, closed."""

from datetime import UTC, datetime, timedelta

import pytest
from sqlmodel import select

from app.records.look_back.incident_file import IncidentFile, incident_file
from app.records.look_back.incidents import IncidentView, incidents_of
from app.records.store.check import check_folder
from app.records.tables.days import IncidentRow
from app.records.tables.house import ShopRow, TrailRow
from app.records.tables.kit import KitItemRow
from app.rules.incidents import CATEGORIES
from tests.groups_world import book, group_of, person_id
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, Browser, Page, World

TYPED = {"severity": "near-miss", "category": "equipment", "what": "A hose leaked at the jetty."}


def incidents(world: World) -> list[IncidentView]:
    """Return today's incidents."""
    with world.house.store.reading() as session:
        return incidents_of(session, DAY)


def the_file(world: World, number: int = 1) -> IncidentFile:
    """Return the whole file of an incident."""
    with world.house.store.reading() as session:
        return incident_file(session, number)


def write_one(browser: Browser, **other: str) -> Page:
    """Write an incident by hand."""
    return browser.open("/incidents/new").send("write_incident", **{**TYPED, **other})


def facts(page: Page, part: str, **said: str) -> Page:
    """Answer the questions of one part."""
    return page.send("say_incident_facts", f"/incidents/1/facts/{part}", **said)


def test_anybody_at_work_writes_an_incident_once_and_reads_the_own(world: World) -> None:
    desk = world.browser("Dora Desk")
    page = desk.open("/incidents/new")
    to, pairs = page.form_fields("write_incident")
    typed = {**dict(pairs), **TYPED, "time": "08:55", "action_taken": "Hose changed.", "phase": "ashore"}
    done = desk.post(to, typed)
    assert done.status == 200 and "/incidents/1" in done.url and "Incident kept." in done.words()
    assert "A hose leaked at the jetty." in done.words() and "08:55" in done.words()
    assert desk.post(to, typed).status == 200
    (one,) = incidents(world)
    assert (one.row.made_by, one.row.written_by, one.row.severity) == ("hand", "Dora Desk", "near-miss")
    assert one.row.happened_at == datetime(2026, 7, 15, 7, 55, tzinfo=UTC)
    assert desk.open("/incidents/1").status == 200
    for name, status in (
        ("Ines Instructor", 404),
        ("Kim Keeper", 404),
        ("Lena Lead", 200),
        ("Mona Manager", 200),
    ):
        assert world.browser(name).open("/incidents/1").status == status, name
    assert world.browser("Kim Keeper").open("/incidents/new").status == 404
    assert desk.open("/incidents/2").status == 404


def test_an_instructor_reads_what_is_about_the_own_group(ready: Ready) -> None:
    lead = ready.world.browser("Lena Lead")
    assert write_one(lead, group="1").status == 200
    assert ready.phone.open("/incidents/1").status == 200
    assert ready.world.browser("Ivo Instructor").open("/incidents/1").status == 404
    (cy,) = book(ready.world, "Cy", slot_id=2)
    other = group_of(ready.world, [cy], guide="Ivo Instructor", name="B", slot_id=2)
    page = ready.phone.open("/incidents/new")
    offered = [e.get("value") for e in page.find("select", name="group")[0].iter("option")]
    assert offered == ["", "1"]
    bad = write_one(ready.phone, group=str(other))
    assert bad.status == 422 and "Choose a group." in bad.words() and len(incidents(ready.world)) == 1


def test_what_is_typed_wrongly_stays_on_the_form(world: World) -> None:
    page = world.browser("Ines Instructor").open("/incidents/new")
    bad = page.send("write_incident", severity="", category="", what="", time="half past nine")
    for sentence in (
        "Choose how bad it was.",
        "Choose what kind it was.",
        "Enter what happened.",
        "Enter when it happened as hours and minutes",
    ):
        assert bad.status == 422 and sentence in bad.words()
    assert bad.find("input", name="time")[0].get("value") == "half past nine"
    long = page.send("write_incident", **{**TYPED, "what": "x" * 2001})
    assert long.status == 422 and "Shorten what happened to 2000 characters" in long.words()
    assert "".join(long.find("textarea", name="what")[0].itertext()) == "x" * 2001
    assert incidents(world) == []


def test_an_incident_is_taken_with_a_lapsed_sign_in(world: World) -> None:
    browser = world.browser("Ines Instructor")
    page = browser.open("/incidents/new")
    world.clock.pass_minutes(120)
    page.send("write_incident", **TYPED)
    (one,) = incidents(world)
    assert one.row.written_by == "Ines Instructor"


def test_additions_stay_beside_what_was_written(world: World) -> None:
    desk = world.browser("Dora Desk")
    page = write_one(desk)
    empty = page.send("add_incident_note", note=" ")
    assert empty.status == 422 and "Enter what to add." in empty.words()
    done = page.send("add_incident_note", note="The hose was four years old.")
    assert "The hose was four years old." in done.words() and "A hose leaked" in done.words()
    to, pairs = page.form_fields("add_incident_note")
    token = world.browser("Ines Instructor").open("/today").find("input", name="token")[0].get("value") or ""
    strange = world.browser("Ines Instructor")
    token = strange.open("/today").find("input", name="token")[0].get("value") or ""
    assert strange.post(to, {**dict(pairs), "token": token, "key": "n" * 32, "note": "x"}).status == 404
    assert len(incidents(world)[0].notes) == 1


def test_the_manager_reads_it_once(world: World) -> None:
    page = write_one(world.browser("Dora Desk"), severity="serious")
    assert not page.forms("read_incident") and not page.forms("close_incident")
    token = page.find("input", name="token")[0].get("value") or ""
    sent = {"key": "r" * 32, "token": token, "version": "1"}
    for verb in ("read", "close", "tasks"):
        assert page.browser.post(f"/incidents/1/{verb}", sent).status == 404
    manager = world.browser("Mona Manager")
    first, second = manager.open("/incidents/1"), manager.open("/incidents/1")
    done = first.send("read_incident")
    assert done.status == 200 and "Mona Manager, 09:00" in done.words()
    # One step back to the day it belongs to, and the list says what is left to do.
    assert (
        done.find("a", href=f"/look-back?day={DAY}")
        and "read, not closed" in manager.open("/incidents").words()
    )
    assert not page.find("a", href=f"/look-back?day={DAY}")
    clash = second.send("read_incident")
    assert clash.status == 409 and "Mona Manager" in clash.words()


def test_a_correction_is_an_addition_and_a_worse_one_is_read_again(world: World) -> None:
    manager = world.browser("Mona Manager")
    write_one(manager, time="08:40")
    old = manager.open("/incidents/1")
    manager.open("/incidents/1").send("read_incident")
    page = manager.open("/incidents/1")
    bad = page.send("correct_incident", severity="serious", time="nine", why="")
    assert bad.status == 422 and "Enter why it is put right." in bad.words()
    right = {"severity": "serious", "category": "injury_illness", "time": "08:30", "why": "Saw the hand"}
    done = page.send("correct_incident", **right)
    assert done.status == 200 and old.send("correct_incident", **right).status == 409
    row = incidents(world)[0].row
    assert (row.severity, row.category, row.read_at) == ("serious", "injury_illness", None)
    assert row.happened_at == datetime(2026, 7, 15, 7, 30, tzinfo=UTC)
    words = done.words()
    for said in ("How bad: was near miss, now serious.", "What kind: was Equipment, now Injury or illness.",
                 "When: was 08:40, now 08:30.", "Why: Saw the hand"):  # fmt: skip
        assert said in words, said
    done.send("read_incident")
    manager.open("/incidents/1").send("correct_incident", severity="minor", why="Only a scratch")
    assert incidents(world)[0].row.read_at is not None


def test_what_led_to_what_is_said_later_and_keeps_what_was_said_before(world: World) -> None:
    page = write_one(world.browser("Dora Desk"))
    chain = {"before": "nerves", "trigger": "water", "trigger_more": "Mask strap slipped", "injury": "none"}
    done = facts(page, "chain", **chain)
    assert done.status == 200 and "Mask strap slipped" in done.words() and "Nerves" in done.words()
    world.clock.pass_minutes(5)
    again = facts(done, "chain", injury="ear")
    words = again.words()
    assert "Ear or sinus" in words and "before that" in words and "None" in words
    rows = the_file(world).facts
    assert [row.value for row in rows["injury"]] == ["ear", "none"] and len(rows["before"]) == 1
    assert "disabled" not in rows
    where = facts(again, "where", depth="200", pressure="x")
    assert where.status == 422 and "must be between 0 and 60 m" in where.words()
    where = facts(again, "where", depth="7,5", pressure="80 bar")
    assert "7.5 m" in where.words() and "80 bar" in where.words()
    assert facts(where, "chain", before="nonsense").status == 422
    token = page.find("input", name="token")[0].get("value") or ""
    assert page.browser.post("/incidents/1/facts/nowhere", {"key": "f" * 32, "token": token}).status == 404


def test_first_aid_oxygen_and_calls_make_the_timeline(world: World) -> None:
    page = write_one(world.browser("Ines Instructor"), severity="serious", time="08:30")
    for wrong, sentence in (
        ({"kind": ""}, "Choose what was done."),
        ({"kind": "called"}, "Choose who was called."),
        ({"kind": "oxygen_on"}, "Enter the flow in L/min."),
        ({"kind": "first_aid"}, "Enter what was done."),
        ({"kind": "oxygen_on", "flow_l_min": "40"}, "must be between 1 and 25 L/min"),
        ({"kind": "called", "whom": "ambulance", "time": "25:00"}, "hours and minutes"),
    ):
        bad = page.send("add_incident_step", **wrong)
        assert bad.status == 422 and sentence in bad.words(), sentence
    assert the_file(world).steps == ()
    for step in (
        {"kind": "called", "whom": "ambulance", "time": "08:36", "what": "On their way"},
        {"kind": "oxygen_on", "flow_l_min": "15", "time": "08:33"},
        {"kind": "oxygen_off", "time": "08:53"},
        {"kind": "evacuation", "what": "By road"},
    ):
        page = page.send("add_incident_step", **step)
        assert page.status == 200, page.words()
    words = page.words()
    order = ("A hose leaked", "Oxygen on 15 L/min", "Called: Ambulance: On their way", "Oxygen off",
             "Taken away for help: By road")  # fmt: skip
    assert sorted(order, key=lambda said: words.index(said, words.index("What happened when"))) == list(order)
    assert "Oxygen 15 L/min from 08:33 to 08:53: about 300 L." in words
    assert "08:36 Called: Ambulance: On their way Ines Instructor, written 09:00" in words
    # Written down even when the sign-in lapsed meanwhile.
    world.clock.pass_minutes(120)
    page.send("add_incident_step", kind="called", whom="family", what="Told")
    assert [step.whom for step in the_file(world).steps].count("family") == 1


def test_the_timeline_tells_the_groups_run_by_name(ready: Ready) -> None:
    ready.whole_dive(Bo=42)
    page = ready.world.browser(GUIDE).open("/incidents/1")
    words = page.words()
    for said in (
        "Ann: went in Ines Instructor",
        "Bo: is back",
        "Bo: end pressure 42 bar",
        "Count in: 3 heads",
        "Dive closed",
        "AboutBo",
    ):
        assert said in words, said
    assert words.index("Ann: went in") < words.index("Bo: is back") < words.index("Dive closed")


def test_cylinders_and_kit_are_really_set_aside(ready: Ready) -> None:
    with ready.world.act() as act:
        act.add(KitItemRow(kind="mask", number="M1", size="medium"))
    ready.everybody_out()
    lead = ready.world.browser("Lena Lead")
    page = write_one(lead, group="1", severity="serious")
    offered = [e.get("value") for e in page.find("input", name="keep")]
    assert len(offered) == 3 and all(str(one).startswith("cylinder-") for one in offered)
    assert page.send("keep_for_incident").status == 422
    assert page.send("keep_for_incident", keep="cylinder-99").status == 422
    done = page.send("keep_for_incident", keep=[str(offered[0]), str(offered[1])])
    assert done.status == 200 and done.words().count("set aside") >= 2
    kept = the_file(ready.world).kept
    assert len(kept) == 2 and all(one.aside for one in kept)
    number = kept[0].label.removeprefix("Cylinder ")
    page = lead.open(f"/gas/cylinders/{kept[0].number}")
    assert number in page.words() and "Kept as it was after incident 1" in page.words()


def test_a_follow_up_is_on_its_owners_today_when_it_is_due(world: World) -> None:
    write_one(world.browser("Ines Instructor"))
    manager = world.browser("Mona Manager")
    page = manager.open("/incidents/1")
    dora = str(person_id(world, "Dora Desk"))
    due = {"due_day": "16", "due_month": "7", "due_year": "2026"}
    bad = page.send("set_incident_task", what="", owner="", due_day="14", due_month="7", due_year="2026")
    for sentence in ("Enter what is to be done.", "Choose who does it.", "must be between 15 07 2026"):
        assert bad.status == 422 and sentence in bad.words(), sentence
    done = page.send("set_incident_task", what="Change all hoses", owner=dora, **due)
    assert "Change all hoses" in done.words() and "by Thu 16 Jul" in done.words()
    desk = world.browser("Dora Desk")
    assert "Change all hoses" not in desk.open("/today").words()
    world.clock.pass_minutes(24 * 60)
    desk = world.browser("Dora Desk")
    assert "Change all hoses" in desk.open("/today").words()
    assert "Change all hoses" not in world.browser("Ines Instructor").open("/today").words()
    # Whose follow-up it is may read what it is about, and say that it is done.
    page = desk.open("/incidents/1")
    assert page.status == 200 and not page.forms("set_incident_task")
    other = world.browser("Ines Instructor").open("/incidents/1")
    assert other.status == 200 and not other.forms("finish_incident_task")
    to, pairs = page.form_fields("finish_incident_task")
    token = other.find("input", name="token")[0].get("value") or ""
    sent = {**dict(pairs), "token": token, "key": "x" * 32, "how": "x"}
    assert other.browser.post(to, sent).status == 404
    assert page.send("finish_incident_task", how="").status == 422
    typed = {**dict(pairs), "how": "Nine hoses changed"}
    assert desk.post(to, typed).status == 200 and desk.post(to, typed).status == 200
    assert desk.post(to, {**typed, "key": "y" * 32}).status == 409
    assert "Change all hoses" not in desk.open("/today").words()
    assert "Nine hoses changed" in desk.open("/incidents/1").words()


def test_an_incident_is_closed_when_read_followed_up_and_answered_for(world: World) -> None:
    manager = world.browser("Mona Manager")
    page = write_one(manager, severity="serious")
    refused = page.send("close_incident")
    assert refused.status == 422 and {"incident_followed_up", "authority_answered"} <= refused.rules()
    page.send("read_incident")
    page = manager.open("/incidents/1")
    owner = str(person_id(world, "Mona Manager"))
    page = page.send("set_incident_task", what="Talk it over", owner=owner)
    page = facts(page, "authority", notifiable="yes")
    refused = page.send("close_incident")
    assert "A follow-up is open: Talk it over." in refused.words()
    assert "The authority has to be told." in refused.words()
    page = manager.open("/incidents/1").send("finish_incident_task", how="Friday")
    page = page.send("add_incident_step", kind="called", whom="authority", what="Reference 12")
    done = page.send("close_incident")
    assert done.status == 200 and "Closed by Mona Manager" in done.words()
    assert not done.forms("close_incident")
    # Additions go on.
    assert "One more thing" in done.send("add_incident_note", note="One more thing").words()


@pytest.mark.parametrize(
    ("preset", "said", "not_said"),
    [
        ("general", "Look up your own law", "at once"),
        ("queensland", "at once", "Look up your own law"),
        ("france", "by Fri 17 Jul 2026 08:30", "at once"),
        ("united_kingdom", "Send the written report: by Sat 25 Jul 2026 08:30", "Look up"),
    ],
)
def test_the_authoritys_clock_is_the_countrys(world: World, preset: str, said: str, not_said: str) -> None:
    with world.act() as act:
        act.edit(act.session.exec(select(ShopRow)).one(), None, {"preset": preset}, {})
    manager = world.browser("Mona Manager")
    words = write_one(manager, severity="serious", time="08:30").words()
    assert said in words and not_said not in words
    if preset != "general":
        assert "Ask your authority." in words and "Source:" in words
    # A near miss asks nothing of itself.
    assert "Does an authority" not in write_one(manager).words()
    world.clock.pass_minutes(11 * 24 * 60)
    late = world.browser("Mona Manager").open("/incidents/1").words()
    assert ("this time is over" in late) == (preset in {"france", "united_kingdom"})
    answered = facts(world.browser("Mona Manager").open("/incidents/1"), "authority", notifiable="no")
    assert "this time is over" not in answered.words()


def test_all_incidents_of_a_year_open_ones_first(world: World) -> None:
    manager = world.browser("Mona Manager")
    empty = manager.open("/incidents").words()
    assert "What went wrong or nearly did stands here." in empty and "How often" not in empty
    write_one(manager, what="Read and done.")
    manager.open("/incidents/1").send("read_incident")
    write_one(manager, what="A fin strap broke.")
    write_one(manager, what="A guest sat down.", category="injury_illness")
    manager.open("/incidents/2").send(
        "set_incident_task", what="Buy straps", owner=str(person_id(world, "Dora Desk"))
    )
    words = manager.open("/incidents").words()
    order = ["A fin strap broke.", "A guest sat down.", "Read and done."]
    assert sorted(order, key=words.index) == order
    assert "3 written down, 0 guests went in: too few to say." in words
    one_kind = manager.open("/incidents?year=2026&kind=injury_illness").words()
    assert "A guest sat down." in one_kind and "A fin strap broke." not in one_kind
    assert "stands here" in manager.open("/incidents?year=2025").words()
    for query in ("year=x", "year=99999", "kind=blame", "year=-1"):
        assert manager.open(f"/incidents?{query}").status == 404
    for name in ("Dora Desk", "Ines Instructor", "Lena Lead", "Kim Keeper"):
        assert world.browser(name).open("/incidents").status == 404


def test_an_incident_may_be_of_an_earlier_day_and_never_of_a_later_one(world: World) -> None:
    desk = world.browser("Dora Desk")
    before = DAY - timedelta(days=1)
    page = desk.open(f"/incidents/new?day={before}").send("write_incident", **TYPED, time="15:10")
    assert page.status == 200
    with world.house.store.reading() as session:
        (one,) = incidents_of(session, before)
    assert one.row.happened_at == datetime(2026, 7, 14, 14, 10, tzinfo=UTC)
    assert desk.open(f"/incidents/new?day={DAY + timedelta(days=1)}").status == 404
    assert desk.open("/incidents/new?day=nonsense").status == 404
    step = page.send("add_incident_step", kind="called", whom="police", time="16:00", on=before.isoformat())
    assert step.status == 200
    assert the_file(world).steps[0].happened_at == datetime(2026, 7, 14, 15, 0, tzinfo=UTC)


def test_what_is_told_of_a_guest_is_sealed_in_the_trail(ready: Ready) -> None:
    ready.whole_dive(Bo=42)
    page = ready.world.browser("Mona Manager").open("/incidents/1")
    facts(page, "chain", injury="other", injury_more="A planted bruise")
    page.send("add_incident_step", kind="first_aid", what="A planted bandage")
    with ready.world.house.store.reading() as session:
        told = " ".join(row.changes for row in session.exec(select(TrailRow)))
        row = session.get(IncidentRow, 1)
    assert row is not None and row.owner.startswith("guest:")
    for planted in ("planted", "Bo came back", "42 bar; the reserve"):
        assert planted not in told
    assert "end_pressure_min" in told
    wrong, _ = check_folder(ready.world.house.settings)
    assert wrong is None


def test_all_five_findings_of_a_dive_become_incidents(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(18)
    for name in ready.members:
        ready.back(name)
    ready.count(1)
    ready.count(len(ready.members))
    ready.count(len(ready.members), ready.world.browser("Lena Lead"))
    ready.end_pressures(Bo=42)
    page = ready.page("/wrap")
    assert page.send("write_dive", depth="7", ascent="slower", stop="yes", anything="nothing",
                     separated="999").status == 422  # fmt: skip
    ready.write_dive(depth="13", ascent="faster", separated=str(ready.members["Ann"]))
    assert ready.close().status == 200
    made = {one.row.made_by: one.row for one in incidents(ready.world)}
    assert set(made) == {
        "depth_plan_default", "end_pressure_min", "ascent_rate_max", "separation_search", "counts_agree",
    }  # fmt: skip
    assert made["separation_search"].what == "Ann was separated from the group."
    assert made["separation_search"].member_id == ready.members["Ann"]
    assert made["separation_search"].severity == "serious"
    assert set(CATEGORIES) >= {row.category for row in made.values()}
    # Written once, however often the dive is put right.
    page = ready.page("/wrap")
    page.send("write_dive", depth="13", ascent="faster", anything="nothing", why="looked again")
    assert len(incidents(ready.world)) == 5


def test_an_incident_in_a_line_is_tied_to_its_group_and_guest_later(ready: Ready) -> None:
    lead = ready.world.browser("Lena Lead")
    page = write_one(lead)
    assert "Ann" not in page.words()
    page = page.send("correct_incident", group="1", why="Was group A")
    assert "Which group: was no group, now group A at 10:30." in page.words()
    ann = str(ready.members["Ann"])
    page = page.send("correct_incident", about=ann, why="It was Ann's hose")
    assert (
        "Who it is about: was nobody in particular, now Ann." in page.words() and "AboutAnn" in page.words()
    )
    row = incidents(ready.world)[0].row
    assert (row.group_id, row.member_id) == (1, ready.members["Ann"]) and row.owner.startswith("guest:")
    assert page.send("correct_incident", about="999", why="x").status == 422
    assert page.send("correct_incident", group="999", why="x").status == 422
    page = page.send("correct_incident", group="", why="Not theirs")
    row = incidents(ready.world)[0].row
    assert (row.group_id, row.member_id) == (None, None)
