"""The plan of a group: worked out, issued, out of date, printed."""

import json

from sqlmodel import select

from app.records import plans
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
    assert figures[0] == "100 bar" and figures[2:4] == ["8 m", "18 min"] and figures[5] == "9 m/min"
    (svg,) = [e for e in page.root.iter() if e.tag.endswith("svg") and e.get("role") == "img"]
    inside = {e.tag.rpartition("}")[2] for e in svg.iter()}
    assert {"title", "desc", "polyline", "text"} <= inside and "style" not in page.text.split("<main")[1]
    assert "Line by line" in words and "Lemmon" in words and "this plan" in words
    assert "ZH-L16C" in words and "navy table" in words
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
    assert later.words().split("Gas of each diver")[1] == before
    again = ines.open(f"/groups/{group_id}/plan")
    assert "Plan 1 is out of date" in again.words()
    second = again.send("issue_plan")
    assert second.status == 200 and "/plans/2" in second.url and "120 bar" in second.words()
    assert "Earlier plans" in ines.open(f"/groups/{group_id}/plan").words()


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
    give_cylinders(world, group_id, bar=230, litres=18)
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
