"""Typing a sheet of paper in: the paper's times and author, gates flagged and never invented."""

from datetime import UTC, datetime, timedelta

import pytest
from sqlmodel import col, select

from app.records.groups.groups import group_view
from app.records.health.health import standing_of
from app.records.keep.paper import from_paper, sheets_of
from app.records.store.house import House
from app.records.tables.days import DayRow, IncidentRow
from app.records.tables.house import TrailRow
from app.records.tables.paper import PaperFormRow, PaperRecordRow, PaperSheetRow
from app.records.tables.parties import GuestRow
from app.records.tables.water import CountRow, PressureRow, SkillRow, WaterEventRow
from app.records.water_side.counts import rounds_in
from app.records.water_side.entry import divers_of, marks_of
from app.records.water_side.water import dive_times
from app.rules.sign_off import SKILLS
from tests.groups_world import book, give_cylinders, group_of, members_of, person_id
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, Page, World, whole_store

# Lisbon is one hour ahead of UTC in July: 09:10 on the paper is 08:10 UTC.
TYPED_AT = datetime(2026, 7, 15, 17, 0, tzinfo=UTC)
VISITS = ("visit", "wrong_try")


def at(clock: str) -> datetime:
    """Return the instant of a clock time on the paper."""
    hours, minutes = map(int, clock.split(":"))
    return datetime(DAY.year, DAY.month, DAY.day, hours - 1, minutes, tzinfo=UTC)


def paper(ready: Ready, **other: str) -> dict[str, str]:
    """Return the whole sheet of the group as typed: everybody in at 09:10, back from 09:31 on."""
    guide, lena, dora = (str(person_id(ready.world, one)) for one in (GUIDE, "Lena Lead", "Dora Desk"))
    said = {"author": guide, "signer": guide, "heads_out": "3", "counted_out": "09:09", "counter_out": lena,
            "heads_first": "3", "counted_first": "09:35", "counter_first": lena,
            "heads_second": "3", "counted_second": "09:37", "counter_second": dora,
            "depth": "7.5", "ascent": "slower", "stop": "yes", "happened": "nothing"}  # fmt: skip
    for minute, (name, number) in enumerate(ready.members.items()):
        said |= {f"went_{number}": "09:10", f"back_{number}": f"09:{31 + minute}", f"turn_{number}": "120",
                 f"end_{number}": f"{80 + 5 * minute}"}  # fmt: skip
        assert name
    return {**said, **other}


def type_in(ready: Ready, who: str = "Dora Desk", **other: str) -> Page:
    """Open the form in the evening and send the sheet."""
    ready.world.clock.at = TYPED_AT
    page = ready.world.browser(who).open(f"/paper/{ready.group_id}")
    return page.send("type_paper_in", **paper(ready, **other))


def rows(world: World, kind: type) -> list:  # type: ignore[type-arg]
    """Return every row of a table in the order of arrival."""
    with world.house.store.reading() as session:
        return list(session.exec(select(kind).order_by(col(kind.id))))  # type: ignore[attr-defined]


def test_a_sheet_of_paper_becomes_the_same_records_with_the_papers_times(ready: Ready) -> None:
    page = type_in(ready)
    assert page.status == 200, page.words()
    with ready.world.house.store.reading() as session:
        view = group_view(session, ready.group_id)
        times = dive_times(session, ready.members.values())
        divers = {one.name: one for one in divers_of(session, view.members)}
        (last,) = rounds_in(session, ready.group_id)
    for minute, (name, number) in enumerate(ready.members.items()):
        assert times[number].went == at("09:10") and times[number].back == at(f"09:{31 + minute}")
        end = divers[name].end
        assert end is not None and end.bar == 80 + 5 * minute and end.at == at(f"09:{31 + minute}")
        assert end.by == GUIDE
    assert view.group.entered_at == at("09:10") and view.group.greatest_depth_m == 7.5
    assert [(one.counter, one.number) for one in last.results] == [("Lena Lead", 3), ("Dora Desk", 3)]
    assert not ready.in_water()
    # The dive can be closed like any other.
    ready.world.browser("Lena Lead").open(ready.at("/wrap")).send("close_dive")
    assert ready.group().closed_at == TYPED_AT


def test_every_record_is_tied_to_the_sheet_and_marked(ready: Ready) -> None:
    type_in(ready)
    (sheet,) = rows(ready.world, PaperSheetRow)
    assert (sheet.author, sheet.typed_by, sheet.typed_at) == (GUIDE, "Dora Desk", TYPED_AT)
    assert (sheet.from_at, sheet.until_at) == (at("09:09"), at("09:37"))
    tied = {(one.record, one.record_id) for one in rows(ready.world, PaperRecordRow)}
    for kind, name in ((WaterEventRow, "water_event"), (PressureRow, "pressure"), (CountRow, "head_count")):
        made = [row for row in rows(ready.world, kind) if getattr(row, "moment", "") != "start"]
        assert made and {(name, row.id) for row in made} <= tied
    for event in rows(ready.world, WaterEventRow):
        assert event.at == TYPED_AT and event.flag == "typed in from paper" and event.by == GUIDE
    with ready.world.house.store.reading() as session:
        back = [row for row in rows(ready.world, WaterEventRow) if row.event == "back"]
        told = from_paper(session, "water_event", [row.id for row in back])
    assert told[back[0].id or 0].paper_at == at("09:31") and told[back[0].id or 0].typed_by == "Dora Desk"
    for place, who in (("/wrap", GUIDE), ("/back", "Dora Desk")):
        words = ready.page(place, ready.world.browser(who)).words()
        assert "Typed in from paper" in words and GUIDE in words and "Typed in by Dora Desk" in words
        assert "times 09:09 to 09:37" in words
    assert "Typed in by Dora Desk" in ready.world.browser("Mona Manager").open(f"/days/{DAY}/sheet").words()
    (entry,) = [row for row in rows(ready.world, TrailRow) if row.act == "type_paper_in"]
    assert entry.who == "Dora Desk"
    assert entry.reason == f"typed in from paper, written by {GUIDE}; its times 2026-07-15 09:09 to 09:37"


def test_a_group_that_was_run_on_paper_alone_shows_its_gates_as_on_paper(world: World) -> None:
    group_id = group_of(world, book(world, "Ann"))
    give_cylinders(world, group_id)
    members = members_of(world, group_id)
    world.clock.at = TYPED_AT
    said = {"author": str(person_id(world, GUIDE))}
    for number in members.values():
        said |= {
            f"went_{number}": "09:10",
            f"back_{number}": "09:30",
            f"start_{number}": "200",
            f"end_{number}": "90",
        }
    page = world.browser("Mona Manager").open(f"/paper/{group_id}").send("type_paper_in", **said)
    assert page.status == 200, page.words()
    with world.house.store.reading() as session:
        (sheet,) = sheets_of(session, group_id)
        guests = [one.guest.id or 0 for one in group_view(session, group_id).guests if one.guest]
        assert marks_of(session, guests, sheet.row.typed_at.tzinfo) == ()  # type: ignore[arg-type]
    keys = {key for key, _ in sheet.gaps}
    assert {"briefing_complete", "kit_check_complete", "plan_issued"} <= keys
    assert {"briefing_complete", "plan_issued"} <= page.rules()
    assert not rows(world, SkillRow)


def test_skills_are_signed_by_who_signed_them_on_the_paper(ready: Ready) -> None:
    ann, bo = ready.guests["Ann"], ready.guests["Bo"]
    before = len(rows(ready.world, SkillRow))
    ivo = str(person_id(ready.world, "Ivo Instructor"))
    page = type_in(
        ready, signer=ivo, **{f"skills_{ann}": "all", f"skills_{bo}": "some", f"shown_{bo}": "read_gauge"}
    )
    assert page.status == 200, page.words()
    # What stood already as shown that day is not written again.
    assert len(rows(ready.world, SkillRow)) == before
    with ready.world.house.store.reading() as session:
        found = marks_of(session, [ann], ready.world.clock.at.tzinfo)  # type: ignore[arg-type]
    assert {one.skill for one in found} == set(SKILLS)


def test_new_skills_carry_the_papers_time_and_the_signer(world: World) -> None:
    group_id = group_of(world, book(world, "Ann"))
    members = members_of(world, group_id)
    world.clock.at = TYPED_AT
    ivo = person_id(world, "Ivo Instructor")
    said = {"author": str(person_id(world, GUIDE)), "signer": str(ivo)}
    said |= {f"went_{n}": "09:10" for n in members.values()} | {
        f"back_{n}": "09:30" for n in members.values()
    }
    browser = world.browser("Dora Desk")
    with world.house.store.reading() as session:
        guest = group_view(session, group_id).guests[0].guest
    assert guest is not None
    said |= {f"skills_{guest.id}": "some"}
    wrong = browser.open(f"/paper/{group_id}").send("type_paper_in", **said)
    assert wrong.status == 422 and "Tick the skills that are signed for Ann." in wrong.words()
    page = wrong.send("type_paper_in", **said, **{f"shown_{guest.id}": ["mask_clear", "read_gauge"]})
    assert page.status == 200, page.words()
    made = rows(world, SkillRow)
    assert [(row.skill, row.by, row.by_id, row.at) for row in made] == [
        ("mask_clear", "Ivo Instructor", ivo, at("09:10")),
        ("read_gauge", "Ivo Instructor", ivo, at("09:10")),
    ]


@pytest.mark.parametrize(
    ("box", "typed", "sentence"),
    [
        ("back", "09:05", "Ann cannot be back before going in. Read both times again."),
        ("went", "23:40", "Ann's time in is still to come. Read the paper again."),
        ("went", "", "Write when Ann went in, or mark that Ann stayed ashore."),
        ("went", "25:99", "Enter Ann's time in as hours and minutes, for example 14:05."),
        ("end", "150", "Ann's end pressure is above the turn: pressure never rises under water."),
        ("turn", "230", "Ann's turn pressure is above the start: pressure never rises under water."),
        ("end", "soon", "Write Ann's end pressure as a number in bar"),
    ],
)
def test_nonsense_is_refused_beside_its_box_and_nothing_is_lost(
    ready: Ready, box: str, typed: str, sentence: str
) -> None:
    ready.world.clock.at = TYPED_AT
    browser = ready.world.browser("Dora Desk")
    before = whole_store(ready.world.house, VISITS)
    name = f"{box}_{ready.members['Ann']}"
    page = browser.open(f"/paper/{ready.group_id}").send("type_paper_in", **paper(ready, **{name: typed}))
    assert page.status == 422 and sentence in page.words(), page.words()[:600]
    assert whole_store(ready.world.house, VISITS) == before
    (entry,) = page.find("input", name=name)
    assert entry.get("value") == typed and entry.get("aria-invalid") == "true"
    (kept,) = page.find("input", name=f"back_{ready.members['Bo']}")
    assert kept.get("value", "").startswith("09:3")


def test_a_count_unlike_the_names_wants_an_explanation(ready: Ready) -> None:
    page = type_in(ready, heads_first="2")
    assert page.status == 422 and "2 were counted, 3 stand by name. Read the paper again." in page.words()
    told = {
        "what": "Bo was behind the pier at the first count.",
        "severity": "near-miss",
        "category": "count",
    }
    page = page.send("type_paper_in", **paper(ready, heads_first="2", **told))
    assert page.status == 200, page.words()
    counts = [row for row in rows(ready.world, CountRow) if row.way == "in" and row.method == "heads"]
    assert [(row.counted, row.agrees, row.at) for row in counts] == [
        (2, False, at("09:35")),
        (3, True, at("09:37")),
    ]
    manager = ready.world.browser("Mona Manager")
    assert "Bo was behind the pier" in manager.open("/look-back").words()
    (row,) = [row for row in rows(ready.world, IncidentRow) if row.made_by == "hand"]
    words = manager.open(f"/incidents/{row.id}").words()
    assert "Typed in from paper by Dora Desk, Wed 15 Jul 2026 18:00." in words
    assert f"Written by {GUIDE}; the paper's time is 09:37." in words


def test_who_is_not_back_on_the_paper_is_in_the_water(ready: Ready) -> None:
    bo = ready.members["Bo"]
    counts = [f"{part}_{which}" for part in ("heads", "counter", "counted") for which in ("first", "second")]
    page = type_in(ready, **dict.fromkeys([f"back_{bo}", f"end_{bo}", *counts], ""))
    assert page.status == 200, page.words()
    assert ready.in_water() == {"Bo"}
    # The rest of the paper comes later; the first sheet stays.
    ready.world.clock.at += timedelta(minutes=5)
    later = {"author": str(person_id(ready.world, GUIDE)), f"back_{bo}": "09:50", f"end_{bo}": "70"}
    page = ready.world.browser("Dora Desk").open(f"/paper/{ready.group_id}").send("type_paper_in", **later)
    assert page.status == 200, page.words()
    assert ready.in_water() == set() and len(rows(ready.world, PaperSheetRow)) == 2


def test_a_power_cut_during_the_dive_leaves_only_the_way_back_to_type(ready: Ready) -> None:
    ready.go_in()
    ready.world.clock.pass_minutes(60)
    page = ready.world.browser("Dora Desk").open(f"/paper/{ready.group_id}")
    assert not page.find("input", name=f"went_{ready.members['Ann']}")
    said = {"author": str(person_id(ready.world, GUIDE))}
    said |= {f"back_{number}": "09:30" for number in ready.members.values()}
    wrong = page.send("type_paper_in", **{**said, f"back_{ready.members['Ann']}": "08:55"})
    assert wrong.status == 422 and "Ann cannot be back before going in." in wrong.words()
    assert wrong.send("type_paper_in", **said).status == 200
    assert not ready.in_water()


def test_a_cylinder_is_given_out_as_the_paper_says(world: World) -> None:
    one = group_of(world, book(world, "Ann"))
    other = group_of(world, book(world, "Bo"), "Ivo Instructor", "B")
    give_cylinders(world, other)
    with world.house.store.reading() as session:
        taken = divers_of(session, group_view(session, other).members)[0]
    assert taken.cylinder is not None
    members = members_of(world, one)
    world.clock.at = TYPED_AT
    number = members["Ann"]
    said = {"author": str(person_id(world, GUIDE)), f"start_{number}": "200"}
    said |= {f"went_{n}": "09:10" for n in members.values()} | {
        f"back_{n}": "09:30" for n in members.values()
    }
    browser = world.browser("Dora Desk")
    page = browser.open(f"/paper/{one}").send("type_paper_in", **said)
    assert page.status == 422 and "Write which cylinder Ann had" in page.words()
    page = page.send("type_paper_in", **said, **{f"cylinder_{number}": taken.cylinder.number})
    assert page.status == 422 and f"is with {taken.name}" in page.words()
    page = page.send("type_paper_in", **said, **{f"cylinder_{number}": "no such"})
    assert page.status == 422 and "The shop has no cylinder no such." in page.words()


def test_the_same_sheet_sent_twice_is_written_once(ready: Ready) -> None:
    ready.world.clock.at = TYPED_AT
    browser = ready.world.browser("Dora Desk")
    page = browser.open(f"/paper/{ready.group_id}")
    to, pairs = page.form_fields("type_paper_in")
    said = paper(ready)
    sent = [(name, value) for name, value in pairs if name not in said] + list(said.items())
    assert browser.post(to, sent).status == 200 and browser.post(to, sent).status == 200
    assert len(rows(ready.world, PaperSheetRow)) == 1


def test_a_day_signed_off_takes_no_paper(ready: Ready) -> None:
    ready.whole_dive()
    house: House = ready.world.house
    page = ready.world.browser("Dora Desk").open(f"/paper/{ready.group_id}")
    with ready.world.act() as act:
        act.add(DayRow(day=DAY, closed_at=act.now, closed_by="Mona Manager"))
    before = whole_store(house, VISITS)
    page = page.send("type_paper_in", author=str(person_id(ready.world, GUIDE)))
    assert page.status == 422 and "signed off" in page.words()
    assert whole_store(house, VISITS) == before


def test_others_find_no_paper(ready: Ready) -> None:
    assert ready.world.browser("Kim Keeper").open(f"/paper/{ready.group_id}").status == 404
    assert ready.world.browser("Dora Desk").open("/paper/987").status == 404
    assert ready.world.browser("Dora Desk").open("/paper-forms").status == 404


def test_the_keeper_notes_that_a_form_is_on_paper_and_nobody_is_readier_for_it(world: World) -> None:
    book(world, "Ann")
    keeper = world.browser("Kim Keeper")
    with world.house.store.reading() as session:
        guest = session.exec(select(GuestRow)).one()
        before = standing_of(session, world.house, guest, DAY).word
    page = keeper.open("/paper-forms").send("keep_paper_form")
    assert page.people() == {str(guest.id): "on paper"} and "Kept by Kim Keeper" in page.words()
    (row,) = rows(world, PaperFormRow)
    assert (row.guest_id, row.day, row.kept_by) == (guest.id, DAY, "Kim Keeper")
    with world.house.store.reading() as session:
        assert standing_of(session, world.house, guest, DAY).word == before
    # Another day's address finds no such guest.
    to = f"/paper-forms/2026-07-16/{guest.id}"
    _, pairs = keeper.open("/today").form_fields("sign-out")
    assert keeper.post(to, pairs).status == 404
