"""Gas room: batches, their air, and who has cylinders that turn out bad."""

from datetime import datetime

from sqlmodel import col, select

from app.records.tables.cylinders import FillRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.house import TrailRow
from tests.booking_world import booked
from tests.gas_world import stock
from tests.web_world import Page, World


def fill(world: World, *picks: str, **more: str) -> Page:
    """Fill cylinders in one batch to 210 bar at 35 °C."""
    browser = world.browser("Ines Instructor")
    typed = {"end_bar": "210", "temp_c": "35", **more}
    return browser.open("/gas/fill").send("fill_several", pick=list(picks), **typed)


def give(world: World, cylinder: int, guest: int, at: datetime) -> int:
    """Put a guest into a group with a cylinder; returns the handing-out."""
    with world.act() as act:
        group = act.add(GroupRow(slot_id=1, name="A", depth_m=8, minutes=20))
        member = act.add(
            MemberRow(
                group_id=group.id or 0, guest_id=guest, part="guest", joined_at=at, joined_by="Dora Desk"
            )
        )
        out = act.add(
            CylinderOutRow(cylinder_id=cylinder, member_id=member.id or 0, given_at=at, given_by="Dora Desk")
        )
        return out.id or 0


def test_the_page_after_a_batch_says_what_the_water_makes_of_it(world: World) -> None:
    stock(world, 3)
    page = fill(world, "1", "2", co_ppm="2")
    assert page.url.endswith("/gas/fills/1?done=" + page.url.rpartition("=")[2])
    # 210 bar at 35 °C are 192.76 bar in 17 °C water (CoolProp), said on the careful side.
    assert "2 cylinders filled" in page.words() and "about 192 bar" in page.words()
    assert "Carbon monoxide: 2 ppm" in page.words()
    world.clock.pass_minutes(1)
    little = world.browser("Ines Instructor").open("/gas/fill")
    little = little.send("fill_several", pick="3", end_bar="190", temp_c="50")
    assert "too little when cold" in little.words() and "1 cylinder filled" in little.words()
    assert world.browser("Dora Desk").open("/gas/fills/1").status == 200
    assert not world.browser("Dora Desk").open("/gas/fills/1").forms("measure_batch")
    assert world.browser("Mona Manager").open("/gas/fills/99").status == 404


def test_over_the_stamp_is_refused_for_the_whole_batch(world: World) -> None:
    stock(world, 3)
    refused = fill(world, "1", "2", "3", end_2="240")
    assert refused.status == 422 and "cylinder_not_above_stamp" in refused.rules()
    assert refused.find("input", name="end_2")[0].get("value") == "240"
    with world.house.store.reading() as session:
        assert session.exec(select(FillRow)).all() == []


def test_bad_air_found_later_names_who_has_the_cylinders_everywhere(world: World) -> None:
    stock(world, 3)
    booked(world, slot=1, names=("Pella Windrow", "Orrin Windrow"))
    page = fill(world, "1", "2", "3")
    assert "not measured" in page.words()
    world.clock.pass_minutes(30)
    give(world, 1, 1, world.clock.at)
    browser = world.browser("Ines Instructor")
    nothing = browser.open("/gas/fills/1").send("measure_batch")
    assert nothing.status == 422 and "Enter what was measured." in nothing.words()
    bad = browser.open("/gas/fills/1").send("measure_batch", co_ppm="12")
    assert bad.status == 200 and "3 of 3 set aside" in bad.words()
    assert "1 is with people now. Stop them" in bad.words() and "Pella" in bad.words()
    assert "group A" in bad.words()
    for person, path in (("Dora Desk", "/today"), ("Lena Lead", "/today"), ("Dora Desk", "/gas")):
        shown = world.browser(person).open(path)
        assert shown.find("section", id="aside-but-out"), path
        assert "Pella" in shown.words()
    with world.house.store.reading() as session:
        entry = session.exec(select(TrailRow).order_by(col(TrailRow.id).desc())).first()
        entries = session.exec(select(TrailRow).where(TrailRow.act == "measure_batch")).all()
        assert entry is not None and len(entries) == 1
        assert "Out now: 1 with group A." in entries[0].reason and "12 ppm" in entries[0].reason
        assert "Pella" not in entries[0].reason
    with world.act() as act:
        out = act.get(CylinderOutRow, 1)
        act.edit(out, None, {"back_at": act.now, "back_by": "Dora Desk"}, {})
    after = browser.open("/gas/fills/1")
    assert "None of them is with anybody now." in after.words()
    assert "1 had one since the fill. Ask how they feel" in after.words()
    assert not browser.open("/today").find("section", id="aside-but-out")


def test_good_air_measured_later_is_kept_and_sets_nothing_aside(world: World) -> None:
    stock(world, 2)
    fill(world, "1", "2")
    browser = world.browser("Lena Lead")
    to, pairs = browser.open("/gas/fills/1").form_fields("measure_batch")
    typed = {**dict(pairs), "co_ppm": "1", "oxygen_percent": "20.9"}
    assert browser.post(to, typed).status == 200 and browser.post(to, typed).status == 200
    page = browser.open("/gas/fills/2")
    assert "Carbon monoxide: 1 ppm" in page.words() and not page.find("section", id="bad-air")


def test_an_address_with_nonsense_opens_an_untouched_form(world: World) -> None:
    stock(world, 2)
    browser = world.browser("Ines Instructor")
    for query in ("pick=x&end=abc&gas=1e9", "pick=99&end=9999", "same=last", "pick=1&pick=1&end=nan"):
        page = browser.open(f"/gas/fill?{query}")
        assert page.status == 200 and page.find("input", name="end_bar")[0].get("value") == ""
        assert "To aim at" not in page.words()
    assert "1 of those asked for cannot be filled now" in browser.open("/gas/fill?pick=99").words()


def test_a_batch_sent_twice_is_written_once(world: World) -> None:
    stock(world, 2)
    browser = world.browser("Ines Instructor")
    to, pairs = browser.open("/gas/fill?pick=1&pick=2").form_fields("fill_several")
    typed = [(name, {"end_bar": "205", "temp_c": "35"}.get(name, value)) for name, value in pairs]
    assert browser.post(to, typed).status == 200 and browser.post(to, typed).status == 200
    with world.house.store.reading() as session:
        assert len(session.exec(select(FillRow)).all()) == 2
