"""Who goes with whom: making groups, placing and moving guests, the water, slots."""

from datetime import timedelta

from app.records.groups import groups
from app.records.tables.days import DayRow
from app.records.tables.groups import GroupRow
from app.records.tables.people import PersonRow
from app.records.welcome import bookings
from tests.groups_world import book, group_of, look_at_water, members_of, person_id, water_event
from tests.web_world import DAY, Page, World

PAGE = f"/groups?day={DAY}"
NEW = "/groups/slots/1/new"
SLOT = "/groups/slots/1"


def views(world: World) -> list[groups.GroupView]:
    """Return the groups of the day as stored."""
    with world.house.store.reading() as session:
        return groups.groups_of(session, DAY)


def make(page: Page, world: World, guests: list[int], guide: str = "Ines Instructor", **more: str) -> Page:
    """Send the form that makes a group in the first slot."""
    fields = {"name": "A", "guide": str(person_id(world, guide)), **more}
    return page.browser.open(NEW).send("make_group", guests=[str(one) for one in guests], **fields)


def test_desk_makes_a_group_with_what_the_limits_allow(world: World) -> None:
    guests = book(world, "Ann", "Bo")
    page = world.browser("Dora Desk").open(PAGE)
    assert "No group yet: 2" in page.words() and "party Ann Vale" in page.words()
    assert page.people()[f"guest-{guests[0]}"] == "waiting"
    to, pairs = page.browser.open(NEW).form_fields("make_group")
    sent = [(n, v) for n, v in pairs if n != "guide"] + [("guests", str(one)) for one in guests]
    sent.append(("guide", str(person_id(world, "Ines Instructor"))))
    done = page.browser.post(to, sent)
    assert done.status == 200 and "Group made." in done.words()
    page.browser.post(to, sent)
    (view,) = views(world)
    assert view.guide is not None and view.guide.name == "Ines Instructor"
    assert [one.name for one in view.guests] == ["Ann", "Bo"]
    assert (view.group.name, view.group.depth_m, view.group.minutes) == ("A", 10, 35)
    assert "planned for good water" in done.words() and "Not asked yet" in done.words()
    assert {"ratio_open_water_good", "depth_plan_default", "conditions_graded"} <= done.rules()


def test_a_group_that_breaks_a_hard_rule_is_refused_whole(world: World) -> None:
    guests = book(world, "Ann", "Bo", "Cy")
    page = world.browser("Lena Lead").open(PAGE)
    many = make(page, world, guests)
    assert many.status == 422 and views(world) == []
    assert "ratio_open_water_good" in many.rules() and "Ines Instructor has 3 guests" in many.words()
    ticked = [e.get("value") for e in many.find("input", name="guests") if "checked" in e.attrib]
    assert ticked == [str(one) for one in guests]
    none = make(page, world, [])
    assert none.status == 422 and "This group has no guests" in none.words()
    deep = make(page, world, guests[:1], depth_m="11", minutes="25")
    assert deep.status == 422 and "depth_plan_default" in deep.rules() and views(world) == []
    assert deep.find("input", id="f-depth_m")[0].get("value") == "11"
    bad = make(page, world, guests[:1], depth_m="forty", minutes="500")
    assert bad.status == 422 and "Depth as a number in m" in bad.words().replace("Write depth", "Depth")
    assert "Minutes must be between 5 and 120 min." in bad.words() and views(world) == []
    shore = make(page, world, guests[:1], surface_watch=str(person_id(world, "Ines Instructor")))
    assert shore.status == 422 and "is in the water with this group" in shore.words() and views(world) == []


def test_papers_out_of_date_a_child_and_two_places_at_once_are_refused(world: World) -> None:
    child = book(world, "Kit", born=2018)
    adult = book(world, "Ann")
    with world.act() as act:
        ivo = act.get(PersonRow, person_id(world, "Ivo Instructor"))
        act.edit(ivo, None, {"first_aid_until": DAY - timedelta(days=1)}, {})
    page = world.browser("Mona Manager").open(PAGE)
    young = make(page, world, child)
    assert young.status == 422 and "age_min_open_water" in young.rules()
    papers = make(page, world, adult, guide="Ivo Instructor")
    assert papers.status == 422 and "cpr_o2_valid" in papers.rules()
    assert make(page, world, adult).status == 200
    other = book(world, "Eva")
    again = world.browser("Mona Manager").open(PAGE)
    twice = make(again, world, other, name="B")
    assert twice.status == 422 and "Ines Instructor is also in group A at 10:30" in twice.words()
    same = make(again, world, other, guide="Lena Lead", name="a")
    assert same.status == 422 and "There is a group a on this day already." in same.words()
    assert len(views(world)) == 1


def test_guests_are_put_in_moved_and_taken_out(world: World) -> None:
    ann, bo, cy = book(world, "Ann", "Bo", "Cy")
    first = group_of(world, [ann])
    second = group_of(world, [bo], guide="Ivo Instructor", name="B")
    desk = world.browser("Dora Desk")
    page = desk.open(PAGE)
    late = desk.open(PAGE)
    done = page.send("put_in_group", f"/groups/guests/{cy}", group=str(first))
    assert done.status == 200 and "Cy" in members_of(world, first) and "No group yet" not in done.words()
    late = late.send("put_in_group", f"/groups/guests/{cy}", group=str(second))
    assert late.status == 422 and "no_overlap" in late.rules() and "Cy" not in members_of(world, second)
    member = members_of(world, first)["Cy"]
    old = desk.open(f"/groups/{first}")
    moved = desk.open(f"/groups/{first}").send("move_guest", f"/groups/members/{member}", to=str(second))
    assert moved.status == 200 and set(members_of(world, second)) == {"Ivo Instructor", "Bo", "Cy"}
    clash = old.send("move_guest", f"/groups/members/{member}", to="out")
    assert clash.status == 409 and "Dora Desk changed this at 09:00" in clash.words()
    full = desk.open(f"/groups/{first}").send(
        "move_guest", f"/groups/members/{members_of(world, first)['Ann']}", to=str(second)
    )
    assert (
        full.status == 422 and "ratio_open_water_good" in full.rules() and "Ann" in members_of(world, first)
    )
    out = desk.open(f"/groups/{second}").send(
        "move_guest", f"/groups/members/{members_of(world, second)['Cy']}", to="out"
    )
    assert out.status == 200 and "No group yet: 1" in desk.open(PAGE).words()
    wrong = desk.open(PAGE).send("put_in_group", f"/groups/guests/{cy}", group="999")
    assert wrong.status == 422 and "Choose a group." in wrong.words()
    with world.house.store.reading() as session:
        row = groups.member(session, member)
        assert row.left_at is not None and row.left_by == "Dora Desk"


def test_who_went_in_is_not_moved_and_an_entered_group_takes_nobody(world: World) -> None:
    ann, bo = book(world, "Ann", "Bo")
    group_id = group_of(world, [ann])
    page = world.browser("Dora Desk").open(PAGE)
    own = page.browser.open(f"/groups/{group_id}")
    again = page.browser.open(f"/groups/{group_id}")
    member = members_of(world, group_id)["Ann"]
    water_event(world, group_id, member, "in")
    with world.act() as act:
        act.edit(act.get(GroupRow, group_id), None, {"entered_at": world.clock()}, {})
    out = own.send("move_guest", f"/groups/members/{member}", to="out")
    assert out.status == 422 and "Ann is in the water with this group" in out.words()
    joins = page.send("put_in_group", f"/groups/guests/{bo}", group=str(group_id))
    assert joins.status == 422 and "entry_still_open" in joins.rules()
    apart = own.send("take_apart", f"/groups/{group_id}/apart")
    assert apart.status == 422 and "Ann" in members_of(world, group_id)
    water_event(world, group_id, member, "back")
    dived = again.send("move_guest", f"/groups/members/{member}", to="out")
    assert dived.status == 422 and "Ann dived with this group" in dived.words()
    assert not page.browser.open(f"/groups/{group_id}").forms("move_guest")


def test_a_group_is_changed_and_a_stale_change_shows_both(world: World) -> None:
    ann, bo = book(world, "Ann", "Bo")
    group_id = group_of(world, [ann, bo])
    lead, desk = world.browser("Lena Lead"), world.browser("Dora Desk")
    at = f"/groups/{group_id}"
    old = desk.open(at)
    ivo, kim = str(person_id(world, "Ivo Instructor")), str(person_id(world, "Kim Keeper"))
    saved = lead.open(at).send("change_group", at, guide=ivo, surface_watch=kim, depth_m="7,5", name="Blue")
    assert saved.status == 200 and "Group changed." in saved.words()
    (view,) = views(world)
    assert view.guide is not None and view.guide.name == "Ivo Instructor" and view.group.depth_m == 7.5
    assert view.surface_watch is not None and view.surface_watch.name == "Kim Keeper"
    clash = old.send("change_group", at, assistant=ivo, depth_m="6")
    words = clash.words()
    assert clash.status == 409 and "Lena Lead changed this at 09:00" in words
    cells = ["".join(cell.itertext()) for cell in clash.find("td")]
    assert cells[:2] == ["Ines Instructor", "Ivo Instructor"] and "7.5" in cells
    assert views(world)[0].assistant is None
    same = clash.send("change_group", at, assistant=ivo, guide=ivo)
    assert same.status == 422 and "cannot be guide and assistant at once" in same.words()
    apart = desk.open(at).send("take_apart", f"{at}/apart")
    assert "No group yet: 2" in apart.words() and views(world) == []
    assert "This group was taken apart" in desk.open(at).words()


def test_the_water_is_looked_at_by_who_may_and_its_grade_binds(world: World) -> None:
    ann, bo = book(world, "Ann", "Bo")
    group_of(world, [ann, bo])
    ivo = world.browser("Ivo Instructor")
    at = "/groups/slots/1/water"
    bad = ivo.open(SLOT).send("look_at_water", at, grade="good", visibility_m="a lot", sea="calm")
    assert bad.status == 422 and "Write visibility as a number in m" in bad.words()
    assert "Enter current in m/s." in bad.words()
    kept = [e for e in bad.find("input", name="visibility_m") if e.get("value") == "a lot"]
    assert len(kept) == 1
    found = {
        "grade": "good",
        "visibility_m": "4",
        "current_m_s": "0,2",
        "sea": "slight",
        "water_temp_c": "15",
    }
    poor = ivo.open(SLOT).send("look_at_water", at, **found)
    assert poor.status == 200 and "poor" in poor.words() and "Ivo Instructor, 09:00" in poor.words()
    assert "ratio_open_water_poor" in poor.rules() and "Ines Instructor has 2 guests" in poor.words()
    look_at_water(world)
    assert "Ines Instructor has 2 guests" not in ivo.open(PAGE).words()


def test_slots_are_added_closed_and_copied(world: World) -> None:
    book(world, "Ann", "Bo")
    desk = world.browser("Dora Desk")
    page = desk.open(PAGE)
    add = f"/groups/days/{DAY}/slots"
    bad = page.send("add_slot", add, clock="25:00", site="", places="0")
    assert bad.status == 422 and "Enter the start as hours and minutes" in bad.words()
    assert bad.find("input", name="clock")[0].get("value") == "25:00"
    done = page.send("add_slot", add, clock="18:00", site="1", places="4")
    assert done.status == 200 and "18:00 Long Jetty" in done.words()
    twice = desk.open(PAGE).send("add_slot", add, clock="18:00", site="1", places="4")
    assert twice.status == 422 and "There is a slot at 18:00" in twice.words()
    few = desk.open(SLOT).send("change_slot", "/groups/slots/1", places="1")
    assert few.status == 422 and "places_left" in few.rules()
    old = desk.open(SLOT)
    shut = desk.open(SLOT).send("change_slot", "/groups/slots/1", booking="closed", places="5")
    assert "closed for booking" in shut.words()
    stale = old.send("change_slot", "/groups/slots/1", places="9")
    assert stale.status == 409 and "9" in stale.words()
    copied = desk.open(PAGE).send("copy_slots", f"/groups/days/{DAY}/copy")
    assert copied.status == 200 and str(DAY + timedelta(days=1)) in copied.url
    with world.house.store.reading() as session:
        made = bookings.slots_of(session, DAY + timedelta(days=1))
        assert [view.slot.clock for view in made] == ["13:30", "16:00", "18:00"]
        assert made[0].slot.starts_at.hour == 12
    again = desk.open(PAGE).send("copy_slots", f"/groups/days/{DAY}/copy")
    assert again.status == 422 and "already has all these slots" in again.words()


def test_a_time_that_the_clock_jumps_over_is_refused(world: World) -> None:
    desk = world.browser("Dora Desk")
    page = desk.open("/groups?day=2027-03-28")
    assert "No slots on this day" in page.words()
    bad = page.send("add_slot", "/groups/days/2027-03-28/slots", clock="01:30", site="1", places="4")
    assert bad.status == 422 and "The clock jumps over 01:30" in bad.words()
    fine = page.send("add_slot", "/groups/days/2027-03-28/slots", clock="02:30", site="1", places="4")
    assert fine.status == 200 and "02:30 Long Jetty" in fine.words()


def test_a_signed_off_day_stays_as_it_was(world: World) -> None:
    (ann,) = book(world, "Ann")
    group_id = group_of(world, [ann])
    page = world.browser("Dora Desk").open(PAGE)
    own = page.browser.open(f"/groups/{group_id}")
    with world.act() as act:
        act.add(DayRow(day=DAY, closed_at=world.clock(), closed_by="Mona Manager"))
    member = members_of(world, group_id)["Ann"]
    late = own.send("move_guest", f"/groups/members/{member}", to="out")
    assert late.status == 422 and "This day is signed off" in late.words()
    assert "day signed off" in page.browser.open(PAGE).words() and "Ann" in members_of(world, group_id)


def test_roles_see_and_do_what_is_theirs(world: World) -> None:
    (ann,) = book(world, "Ann")
    group_id = group_of(world, [ann])
    ines = world.browser("Ines Instructor").open(PAGE)
    assert ines.status == 200 and ines.browser.open(SLOT).forms("look_at_water")
    assert ines.browser.open(f"/groups/{group_id}").status == 404 and ines.browser.open(NEW).status == 404
    key, token = "k" * 32, ines.find("input", name="token")[0].get("value") or ""
    sent = {"key": key, "token": token}
    for path in (
        f"/groups/{group_id}",
        f"/groups/{group_id}/apart",
        f"/groups/guests/{ann}",
        "/groups/slots/1",
    ):
        assert ines.browser.post(path, sent).status == 404
    assert world.browser("Kim Keeper").open(PAGE).status == 404
    desk = world.browser("Dora Desk").open(PAGE)
    sent["token"] = desk.find("input", name="token")[0].get("value") or ""
    for path in ("/groups/999", "/groups/members/999", "/groups/guests/999", "/groups/slots/999/new"):
        assert desk.browser.post(path, sent).status == 404
    assert desk.browser.post("/groups/slots/1/water", sent).status == 404
    assert desk.browser.open("/groups?day=nonsense").status == 404
    assert desk.browser.post("/groups/days/nonsense/copy", sent).status == 404
