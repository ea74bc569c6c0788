"""Today: what each group needs next and who does it, as the group comes through its day."""

from datetime import timedelta

from sqlalchemy import event

from app.records.tables.days import DayRow, EmergencyCheckRow
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.water import BriefingRow, SkillRow
from app.rules.briefing import BRIEFING, KIT_CHECK, SECOND_EYES
from app.rules.sign_off import SKILLS
from tests.groups_world import (
    book,
    give_cylinders,
    group_of,
    look_at_water,
    members_of,
    person_id,
    water_event,
)
from tests.health_world import screened
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, Browser, Page, World


def next_of(page: Page, group_id: int) -> tuple[str, str, str]:
    """Return what a group needs next, who does it, and where it leads ("" when closed to the reader)."""
    (row,) = page.find("li", data_group=str(group_id))
    who = " ".join("".join(e.itertext()) for e in row.iter("span") if e.get("class") == "by")
    (do,) = [e for e in row.iter("div") if e.get("class") == "do"]
    links = list(do.iter("a"))
    words = " ".join("".join(do.itertext()).split()).removeprefix(who).strip()
    return words.rpartition(", group")[0] or words, who, links[0].get("href") or "" if links else ""


def at_today(browser: Browser, group_id: int = 1) -> tuple[str, str, str]:
    """Open Today and return what a group needs next."""
    return next_of(browser.open("/today"), group_id)


def test_a_group_is_led_from_step_to_step(world: World) -> None:
    (ann,) = book(world, "Ann")
    lead = world.browser("Lena Lead")
    words = lead.open("/today").words()
    assert "1 without a group" in words and "Not checked today. Nobody goes in before it is." in words
    group_id = group_of(world, [ann])
    assert at_today(lead) == ("Health form of Ann", "the desk", f"/guests/{ann}/health")
    screened(world, ann)
    assert at_today(lead) == ("Look at the water", GUIDE, "/groups/slots/1")
    look_at_water(world)
    assert at_today(lead) == ("Give cylinders out", "the desk", "/gas/give?slot=1")
    give_cylinders(world, group_id)
    assert at_today(lead) == ("Plan the dive", GUIDE, f"/groups/{group_id}/plan")
    lead.open(f"/groups/{group_id}/plan").send("issue_plan")
    assert at_today(lead) == ("Briefing", GUIDE, "/water/1#briefing")
    by = {"by_id": person_id(world, GUIDE), "by": GUIDE, "at": world.clock()}
    figures = {"turn": "100", "lost": "1", "time": "20"}
    with world.act() as act:
        for item in BRIEFING[:-1]:
            said = item.states[0] if item.states else figures[item.key]
            act.add(BriefingRow(group_id=group_id, item=item.key, answer=said, **by))
    assert at_today(lead)[0] == "Briefing", "one item is still open"
    with world.act() as act:
        last = BRIEFING[-1]
        act.add(BriefingRow(group_id=group_id, item=last.key, answer=last.states[0], **by))
    assert at_today(lead) == ("Kit check", GUIDE, "/water/1#kit-check")
    with world.act() as act:
        for about in (f"staff-{person_id(world, GUIDE)}", f"guest-{ann}"):
            for item in KIT_CHECK:
                row = BriefingRow(group_id=group_id, item=item.key, answer=item.states[0], about=about, **by)
                act.add(row)
            second = f"staff-{person_id(world, 'Ivo Instructor')}"
            act.add(BriefingRow(group_id=group_id, item=SECOND_EYES, answer=second, about=about, **by))
    assert at_today(lead) == ("Look at each guest", GUIDE, "/water/1#shore-look")
    lead.open("/water/1").send("all_in_order")
    assert at_today(lead) == ("Shallow skills", GUIDE, "/water/1#skills")
    with world.act() as act:
        for skill in SKILLS:
            act.add(SkillRow(guest_id=ann, group_id=group_id, skill=skill, outcome="shown", **by))
    assert at_today(lead) == ("Start pressures", GUIDE, "/water/1#pressures")
    page = lead.open("/water/1")
    page.send("read_pressures", **{f"bar_{n}": "200" for n in members_of(world, group_id).values()})
    assert at_today(lead) == ("Roll call out", GUIDE, "/water/1/out")
    look_at_water(world, grade="fair")
    assert at_today(lead) == ("Issue the plan again", GUIDE, f"/groups/{group_id}/plan")


def test_from_the_water_to_done(ready: Ready) -> None:
    desk = ready.world.browser("Dora Desk")

    def now() -> tuple[str, str, str]:
        desk.sign_in("Dora Desk")
        return at_today(desk)

    assert now() == ("Roll call out", GUIDE, ""), "the desk is not led where it may not go"
    assert at_today(ready.phone) == ("Roll call out", "you", "/water/1/out")
    ready.go_in()
    assert now() == ("Roll call in", GUIDE, "/water/1/back")
    ready.world.clock.pass_minutes(60)
    assert now() == ("Overdue: roll call in", GUIDE, "/water/1/back")
    assert "3 in the water, 3 late" in desk.open("/today").text
    for name in ready.members:
        ready.back(name)
    assert now() == ("Count heads and wrap up", GUIDE, "")
    ready.count(3)
    ready.end_pressures()
    ready.write_dive()
    closed = ready.close()
    assert now() == ("Cylinders back", GUIDE, "")
    closed.send("cylinders_back")
    assert now()[:2] == ("Done", "")
    assert "in the water" not in desk.open("/today").text.split("<main")[0]


def test_a_dive_called_off_needs_nothing_and_a_group_without_a_guide_one(ready: Ready) -> None:
    with ready.world.act() as act:
        act.edit(act.get(GroupRow, 1), None, {"aborted_at": act.now, "aborted_by": GUIDE}, {})
    assert at_today(ready.phone)[:2] == ("Called off", "")
    (cy,) = book(ready.world, "Cy")
    other = group_of(ready.world, [cy], name="B")
    with ready.world.act() as act:
        guide = members_of(ready.world, other)[GUIDE]
        act.edit(act.get(MemberRow, guide), None, {"left_at": act.now, "left_by": "a test"}, {})
    lead = ready.world.browser("Lena Lead")
    assert at_today(lead, other)[:2] == ("Choose a guide", "the desk")


def test_a_hold_is_shown_by_its_word_alone(world: World) -> None:
    ann, bo = book(world, "Ann", "Bo")
    screened(world, ann, LUNG="Y", LUNG_c="Y")
    screened(world, bo)
    for name in ("Dora Desk", "Ines Instructor", "Mona Manager"):
        page = world.browser(name).open("/today")
        assert "Not ready yet" in page.words() and page.people()[str(ann)] != ""
        assert str(bo) not in page.people()
        assert "LUNG" not in page.text and "lung" not in page.text.lower()


def test_the_board_shows_everybody_in_the_water_the_longest_first(ready: Ready) -> None:
    manager = ready.world.browser("Mona Manager")
    assert "Nobody is in the water." in manager.open("/today/water").words()
    ready.go_in()
    page = manager.open("/today/water")
    assert page.people() == {str(number): "in" for number in ready.members.values()}
    assert "3 in the water" in page.words() and "in since 09:01" in page.words()
    (cy,) = book(ready.world, "Cy")
    other = group_of(ready.world, [cy], guide="Ivo Instructor", name="B")
    ready.world.clock.pass_minutes(5)
    water_event(ready.world, other, members_of(ready.world, other)["Cy"], "in")
    assert list(manager.open("/today/water").people())[-1] == str(members_of(ready.world, other)["Cy"])
    assert world_strip(manager) == "4 in the water"
    assert ready.world.browser("Kim Keeper").open("/today/water").status == 404
    assert world_strip(ready.world.browser("Kim Keeper")) == ""


def world_strip(browser: Browser) -> str:
    """Return the line about who is in the water on another page."""
    page = browser.open("/today")
    return " ".join(
        "".join(e.itertext()) for e in page.find("p") if (e.get("class") or "").startswith("in-water")
    )


def test_other_days_and_nonsense(world: World) -> None:
    desk = world.browser("Dora Desk")
    tomorrow = desk.open(f"/today?day={DAY + timedelta(days=1)}")
    assert "Add a slot" in tomorrow.words() and "Emergency kit" not in tomorrow.words().split("Add a slot")[0]
    for day in ("nonsense", "2026-02-30", "9999-12-31", "0001-01-01"):
        assert desk.open(f"/today?day={day}").status == 404
    with world.act() as act:
        act.add(DayRow(day=DAY, closed_at=world.clock(), closed_by="Mona Manager"))
    assert "This day is closed" in desk.open("/today").words()


def test_the_emergency_kit_is_asked_for_until_it_is_whole(ready: Ready) -> None:
    assert "Nobody goes in before it is" not in ready.phone.open("/today").words()
    with ready.world.act() as act:
        act.add(
            EmergencyCheckRow(
                day=DAY,
                present="oxygen_set",
                oxygen_bar=150,
                oxygen_cylinder_litres=5,
                oxygen_litres=0,
                by_id=person_id(ready.world, GUIDE),
                by=GUIDE,
                at=act.now,
            )
        )
    assert "missing." in ready.phone.open("/today").words()


def test_the_count_of_queries_does_not_grow_with_the_groups(ready: Ready) -> None:
    engine = ready.world.house.store.engine
    seen: list[str] = []
    event.listen(engine, "before_cursor_execute", lambda *a: seen.append(a[2]))
    ready.phone.open("/today")
    seen.clear()
    ready.phone.open("/today")
    one = len(seen)
    for number in range(3):
        guests = book(ready.world, f"X{number}", f"Y{number}", slot_id=2)
        group_of(ready.world, guests, guide="Ivo Instructor", name=f"G{number}", slot_id=2)
    # The first page after a change also looks whether it teaches anything of breathing rates.
    ready.phone.open("/today")
    seen.clear()
    ready.phone.open("/today")
    assert len(seen) <= one + 2, f"{len(seen)} statements after {one}"


def test_the_shore_watch_shows_gauges_and_says_what_to_tell_when_a_group_is_overdue(
    ready: Ready,
) -> None:
    ready.go_in()
    desk = ready.world.browser("Dora Desk")
    board = desk.open("/today/water")
    assert board.words().count("200 bar going in") == 3 and "last read" not in board.words()
    assert board.find("div", id="board")[0].get("data-late") is None
    ready.page("/back").send("read_pressures", moment="during", **{f"bar_{ready.members['Ann']}": "140"})
    assert "last read 140 bar at 09:01" in desk.open("/today/water").words()
    due = ready.group().due_at
    assert due is not None
    ready.world.clock.at = due + timedelta(minutes=6)
    late = ready.world.browser("Dora Desk").open("/today/water")
    assert late.find("div", id="board")[0].get("data-late") == "yes" and "act now" not in late.words()
    ready.world.clock.at = due + timedelta(minutes=11)
    words = ready.world.browser("Dora Desk").open("/today/water").words()
    assert "Group A is overdue: act now" in words and "Say: 3 people under water at Long Jetty" in words
    assert "Ambulance112" in words and "555 0199" in words and "Start the missing-person procedure" in words
