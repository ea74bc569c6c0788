"""The plan of a group: worked out, issued, out of date, printed."""

import json

from sqlmodel import select

from app.records.plans import plans
from app.records.tables.cylinders import ReadingRow
from app.records.tables.groups import CylinderOutRow, GroupRow, PlanRow
from app.records.tables.house import LimitRow
from app.records.tables.parties import GuestRow
from app.records.tables.water import PressureRow
from tests.groups_world import book, give_cylinders, group_of, look_at_water, members_of, water_event
from tests.web_world import World


def ready(world: World, *names: str) -> int:
    """Make a group whose plan can be issued."""
    group_id = group_of(world, book(world, *names))
    give_cylinders(world, group_id)
    look_at_water(world)
    return group_id


def issued(world: World) -> list[PlanRow]:
    """Return every plan that was issued."""
    with world.house.store.reading() as session:
        return list(session.exec(select(PlanRow).order_by(PlanRow.number)))


def changed(world: World, group_id: int) -> tuple[str, ...]:
    """Return why the newest plan is out of date."""
    with world.house.store.reading() as session:
        view = plans.current_plan(session, world.house, group_id, world.clock())
        assert view is not None
        return view.changed


def test_the_page_shows_figures_working_and_picture(world: World) -> None:
    group_id = ready(world, "Ann", "Bo")
    page = world.browser("Dora Desk").open(f"/groups/{group_id}/plan")
    words = page.words()
    assert page.status == 200 and "no plan issued" in words and "not permission to dive" in words
    assert {"turn_pressure", "end_pressure_min", "depth_plan_default", "ascent_rate_max"} <= page.rules()
    figures = ["".join(e.itertext()) for e in page.find("p") if e.get("class") == "number"]
    assert figures == ["100 bar", "50 bar", "18 min", "8 m"] and "at most 9 m/min" in words
    (svg,) = [e for e in page.root.iter() if e.tag.endswith("svg") and e.get("role") == "img"]
    inside = {e.tag.rpartition("}")[2] for e in svg.iter()}
    assert {"title", "desc", "polyline", "text"} <= inside and "style" not in page.text.split("<main")[1]
    assert "this plan" in words and "ZH-L16C" in words and "navy table" in words
    assert not page.forms("issue_plan") and not page.forms("change_dive")


def test_what_is_not_known_keeps_a_plan_from_being_issued(world: World) -> None:
    group_id = group_of(world, book(world, "Ann"))
    ines = world.browser("Ines Instructor")
    page = ines.open(f"/groups/{group_id}/plan")
    assert "Ann has no cylinder" in page.words() and "cylinder_given" in page.rules()
    assert not page.forms("issue_plan")
    token = page.find("input", name="token")[0].get("value") or ""
    with world.house.store.reading() as session:
        seen = plans.draft_plan(session, world.house, group_id, world.clock()).fingerprint
    sent = ines.post(f"/groups/{group_id}/plan", {"key": "k" * 32, "token": token, "seen": seen})
    assert sent.status == 422 and "cylinder_given" in sent.rules() and issued(world) == []
    give_cylinders(world, group_id, bar=110)
    low = ines.open(f"/groups/{group_id}/plan")
    assert "would come back under the reserve" in low.words() and not low.forms("issue_plan")


def test_the_guide_issues_a_plan_once_and_it_stays_as_it_was(world: World) -> None:
    group_id = ready(world, "Ann", "Bo")
    ines = world.browser("Ines Instructor")
    page = ines.open(f"/groups/{group_id}/plan")
    to, pairs = page.form_fields("issue_plan")
    done = ines.post(to, pairs)
    assert (
        done.status == 200 and done.url.split("?")[0].endswith("/plans/1") and "Plan issued." in done.words()
    )
    ines.post(to, pairs)
    (row,) = issued(world)
    answer, kept = json.loads(row.answer), json.loads(row.case)
    assert row.issued_by == "Ines Instructor" and json.loads(row.limits)["turn_pressure"]["value"] == 100
    members = members_of(world, group_id)
    assert {one["id"] for one in answer["divers"]} == {str(one) for one in members.values()}
    assert answer["run_min"] > 18 and kept["case"]["sea"]["temp_c"] == 16
    before = done.words().split("Gas of each diver")[1]
    with world.act() as act:
        guest = act.get(GuestRow, 1)
        act.edit(guest, None, {"call_name": "Anna"}, {})
        act.add(LimitRow(limit_key="turn_pressure", value=120, set_at=world.clock(), set_by="a", reason="b"))
    later = ines.open("/plans/1")
    assert "Out of date because of: limits." in later.words()
    (turn,) = [
        row
        for row in later.find("tr")
        if "Turn" in "".join(row.itertext()) and "120" in "".join(row.itertext())
    ]
    assert [e.get("data-label") for e in turn.iter("td")] == ["As issued", "Now"]
    assert "".join(turn.itertext()) == "Turn100 bar120 bar"
    # Figures stay as they were issued; the name is today's, and the frozen plan holds none of a guest.
    assert later.words().split("Gas of each diver")[1] == before.replace("Ann", "Anna")
    assert "Ann" not in row.case + row.answer and "Bo" not in row.case + row.answer
    assert "Issued by Ines Instructor, Wed 15 Jul 2026 09:00. It stays as it was issued." in later.words()
    again = ines.open(f"/groups/{group_id}/plan")
    assert "Plan 1 is out of date" in again.words()
    second = again.send("issue_plan")
    assert second.status == 200 and "/plans/2" in second.url and "120 bar" in second.words()
    assert "Earlier plans" in ines.open(f"/groups/{group_id}/plan").words()
    first = ines.open("/plans/1")
    assert "replaced by plan 2" in first.words() and first.find("a", href="/plans/2")


def test_each_change_since_the_issue_is_named(world: World) -> None:
    group_id = ready(world, "Ann")
    ines = world.browser("Ines Instructor")
    assert ines.open(f"/groups/{group_id}/plan").send("issue_plan").status == 200
    assert changed(world, group_id) == ()
    ann = members_of(world, group_id)["Ann"]
    with world.house.store.reading() as session:
        out = session.exec(select(CylinderOutRow).where(CylinderOutRow.member_id == ann)).one()

    def start(bar: float) -> None:
        with world.act() as act:
            act.add(
                PressureRow(
                    member_id=ann,
                    cylinder_id=out.cylinder_id,
                    moment="start",
                    bar=bar,
                    read_value=bar,
                    by="a",
                    at=world.clock(),
                )
            )

    start(196)
    assert changed(world, group_id) == (), "a cylinder that cooled still carries the plan"
    start(130)
    assert changed(world, group_id) == ("start pressures",)
    assert "Out of date because of: start pressures." in ines.open("/plans/1").words()
    start(197)
    world.clock.pass_minutes(1)
    with world.act() as act:
        act.add(ReadingRow(cylinder_id=out.cylinder_id, bar=190, read_value=190, at=world.clock(), by="a"))
    assert changed(world, group_id) == ("cylinders",)
    look_at_water(world, grade="fair")
    assert changed(world, group_id) == ("cylinders", "the water")
    other = book(world, "Bo")
    world.browser("Lena Lead").open("/groups").send(
        "put_in_group", f"/groups/guests/{other[0]}", group=str(group_id)
    )
    assert changed(world, group_id)[0] == "people"
    with world.act() as act:
        act.edit(act.get(GroupRow, group_id), None, {"entered_at": world.clock()}, {})
    assert changed(world, group_id) == (), "the dive runs under its plan"


def test_depth_and_time_are_changed_within_the_limits(world: World) -> None:
    group_id = ready(world, "Ann")
    ines = world.browser("Ines Instructor")
    at = f"/groups/{group_id}/plan"
    old = ines.open(at)
    deep = ines.open(at).send("change_dive", depth_m="11", minutes="20")
    assert deep.status == 422 and "depth_plan_default" in deep.rules()
    assert deep.find("input", id="f-depth_m")[0].get("value") == "11"
    bad = ines.open(at).send("change_dive", depth_m="", minutes="x")
    assert bad.status == 422 and "Enter depth in m." in bad.words()
    fine = ines.open(at).send("change_dive", depth_m="6,5", minutes="19")
    assert fine.status == 200 and "6.5 m" in fine.words()
    stale = old.send("change_dive", depth_m="7", minutes="22")
    assert stale.status == 409 and "Ines Instructor changed this at 09:00" in stale.words()
    assert "6.5" in stale.words() and stale.find("input", id="f-depth_m")[0].get("value") == "7"
    unseen = old.send("issue_plan")
    assert unseen.status == 409 and issued(world) == []


def test_after_four_dives_the_guide_acknowledges_the_navy_table(world: World) -> None:
    guests = book(world, "Ann", "Bo", "Cy", "Di", "Eva")
    world.clock.pass_minutes(-300)
    for number, guest in enumerate(guests[:4]):
        earlier = group_of(world, [guest], name=f"E{number}")
        member = members_of(world, earlier)["Ines Instructor"]
        water_event(world, earlier, member, "in")
        world.clock.pass_minutes(48)
        water_event(world, earlier, member, "back")
        with world.act() as act:
            done = {"entered_at": world.clock(), "closed_at": world.clock(), "greatest_depth_m": 12.0}
            act.edit(act.get(GroupRow, earlier), None, done, {})
        world.clock.pass_minutes(40)
    group_id = group_of(world, [guests[4]])
    give_cylinders(world, group_id, bar=230, litres=24)
    with world.act() as act:
        act.edit(act.get(GroupRow, group_id), None, {"depth_m": 10.0, "minutes": 35.0}, {})
        act.add(
            LimitRow(limit_key="depth_plan_default", value=12, set_at=world.clock(), set_by="a", reason="b")
        )
    lead = world.browser("Lena Lead").open(f"/groups/{group_id}/plan")
    assert "Second opinion" in lead.words() and "The guide of this group issues this plan" in lead.words()
    by_lead = lead.send("issue_plan", acknowledged="yes")
    assert by_lead.status == 422 and "The navy table allows Ines Instructor" in by_lead.words()
    page = world.browser("Ines Instructor").open(f"/groups/{group_id}/plan")
    unsaid = page.send("issue_plan")
    assert unsaid.status == 422 and "navy table" in unsaid.words() and issued(world) == []
    said = unsaid.send("issue_plan", acknowledged="yes")
    assert said.status == 200 and "Acknowledged by Ines Instructor: The navy table allows" in said.words()


def test_roles_and_objects(world: World) -> None:
    group_id = ready(world, "Ann")
    at = f"/groups/{group_id}/plan"
    ivo = world.browser("Ivo Instructor")
    page = ivo.open(at)
    assert page.status == 200 and not page.forms("issue_plan")
    sent = {"key": "k" * 32, "token": page.find("input", name="token")[0].get("value") or "", "seen": "x"}
    assert ivo.post(at, sent).status == 404 and ivo.post(f"{at}/dive", sent).status == 404
    manager = world.browser("Mona Manager")
    sent["token"] = manager.open(at).find("input", name="token")[0].get("value") or ""
    assert manager.post(at, sent).status == 404
    assert world.browser("Kim Keeper").open(at).status == 404
    for path in ("/groups/999/plan", "/groups/999/plan/slate", "/plans/7"):
        assert manager.open(path).status == 404
    assert world.browser("Lena Lead").open(at).forms("issue_plan")


def test_the_slate_is_printed_from_the_issued_plan(world: World) -> None:
    group_id = ready(world, "Ann", "Bo")
    ines = world.browser("Ines Instructor")
    assert "No plan is issued" in ines.open(f"/groups/{group_id}/plan/slate").words()
    ines.open(f"/groups/{group_id}/plan").send("issue_plan")
    slate = ines.open(f"/groups/{group_id}/plan/slate")
    assert "Group A, plan 1" in slate.words() and "not permission to dive" in slate.words()
    assert len([e for e in slate.find("span") if e.get("class") == "pencil"]) == 3 * 6 + 4


def test_the_turn_is_named_apart_from_what_bounds_the_way_up(world: World) -> None:
    group_id = ready(world, "Ann", "Bo")
    ines = world.browser("Ines Instructor")
    words = ines.open(f"/groups/{group_id}/plan").words()
    assert "Ann turns first, about minute" in words and "The planned 18 minutes limit the dive." in words
    assert "Minutes to sharing gas" in words
    short = ines.open(f"/groups/{group_id}/plan").send("change_dive", minutes="10").words()
    assert "Nobody turns before the way up; Ann would be first, about minute" in short
    long = ines.open(f"/groups/{group_id}/plan").send("change_dive", minutes="30").words()
    assert "Ann turns first, about minute" in long and "Ann's gas limits the dive: way up by minute" in long
    assert "At this depth the gas lasts until minute" in long


def test_a_plan_from_before_these_figures_is_shown_as_it_was(world: World) -> None:
    group_id = ready(world, "Ann")
    ines = world.browser("Ines Instructor")
    assert ines.open(f"/groups/{group_id}/plan").send("issue_plan").status == 200
    with world.act() as act:
        row = act.session.exec(select(PlanRow)).one()
        answer = json.loads(row.answer)
        del answer["ascent_limit"], answer["ascent_limit_who"]
        answer["limit"] = "planned_minutes"
        for step in answer["working"]:
            del step["formula"], step["margin"], step["who"]
        for one in answer["divers"]:
            del one["minutes_to_sharing"], one["light_end_gauge_bar"]
        act.add(
            PlanRow(
                group_id=group_id, number=2, case=row.case, answer=json.dumps(answer), limits=row.limits,
                fingerprint=row.fingerprint, acknowledged="", issued_at=row.issued_at, issued_by="Ada",
            )
        )  # fmt: skip
    words = ines.open("/plans/2").words()
    assert "The planned 18 minutes limit the dive." in words and "not worked out" in words
    working = ines.open("/plans/2/working")
    assert working.status == 200 and "Lemmon" in working.words()


def test_the_working_shows_every_figure_with_words_numbers_margin_and_source(world: World) -> None:
    group_id = ready(world, "Ann", "Bo")
    ines = world.browser("Ines Instructor")
    page = ines.open(f"/groups/{group_id}/plan")
    assert page.find("a", href=f"/groups/{group_id}/plan/working"), "one tap below the plan"
    working = ines.open(f"/groups/{group_id}/plan/working")
    words = working.words()
    assert "not permission to dive" in words and "Line by line: Ann" in words, "first who turns first"
    for line in (
        "Start at water temperature",
        "Gas used",
        "End, cautious",
        "End, light",
        "Minutes to the turn",
    ):
        (row,) = [e for e in working.find("tr") if "".join(e.itertext()).startswith(line)]
        assert all("".join(cell.itertext()).strip() for cell in row.iter("td")), line
    assert "200 bar at 30 °C, closed, to 16 °C" in words and "Lemmon" in words
    assert {"turn_pressure", "end_pressure_min", "sharing_stress_factor"} <= working.rules()
    group = ines.open(f"/groups/{group_id}/plan/working?who=group").words()
    assert "Pressure at depth" in group and "× 9.80665 m/s² × 8 m" in group
    bo = members_of(world, group_id)["Bo"]
    assert "Line by line: Bo" in ines.open(f"/groups/{group_id}/plan/working?who={bo}").words()
    assert ines.open(f"/groups/{group_id}/plan/working?who=nobody").status == 200
    page.send("issue_plan")
    assert "Working of plan 1" in ines.open("/plans/1/working").words()


def test_what_if_says_what_each_cell_breaks_and_where_we_are(world: World) -> None:
    group_id = ready(world, "Ann")
    ines = world.browser("Ines Instructor")
    ines.open(f"/groups/{group_id}/plan").send("change_dive", depth_m="9", minutes="20")
    page = ines.open(f"/groups/{group_id}/plan")
    (table,) = [e for e in page.find("table") if "what-if" in (e.get("class") or "")]
    cells = list(table.iter("td"))
    here = [e for e in cells if e.get("aria-current")]
    assert len(cells) == 25 and len(here) == 1 and "this plan" in "".join(here[0].itertext())
    said = ["".join(e.itertext()) for e in cells if e.get("class") == "no"]
    assert any("under reserve" in one for one in said) and any("over depth limit" in one for one in said)
    assert all("bar" not in one for one in said if "gas runs out" in one)


def test_a_group_whose_cylinders_are_not_known_has_no_working_yet(world: World) -> None:
    group_id = group_of(world, book(world, "Ann"))
    page = world.browser("Dora Desk").open(f"/groups/{group_id}/plan/working")
    assert page.status == 200 and "The working will stand here" in page.words()
