"""Kit rail: faults, services of several items, the shop's own sizes and needs, lead counted, stocktakes."""

import pytest

from app.records.kit_rail import stocktake as records
from app.records.tables.kit import KitItemRow, WeightsRow
from tests.groups_world import book, group_of
from tests.web.test_kit_rail import NEXT_YEAR, held
from tests.web_world import Browser, Page, World


@pytest.fixture
def rail(world: World) -> World:
    """Ann and Ben at 10:30; two suits, two masks, two jackets (one due in September), a regulator."""
    book(world, "Ann", "Ben")
    with world.act() as act:
        for kind, number, size in (
            ("suit", "W1", "M"),
            ("suit", "W2", "L"),
            ("mask", "M1", "medium"),
            ("mask", "M2", "medium"),
        ):
            act.add(KitItemRow(kind=kind, number=number, size=size))
        due = NEXT_YEAR.replace(year=2026, month=9, day=13)
        act.add(KitItemRow(kind="jacket", number="J1", size="M", service_due=NEXT_YEAR))
        act.add(KitItemRow(kind="jacket", number="J2", size="L", service_due=due))
        act.add(KitItemRow(kind="regulator", number="R1"))
    return world


def post(browser: Browser, path: str, key: str, **fields: str) -> Page:
    token = dict(browser.open("/today").form_fields("sign-out")[1])["token"]
    return browser.post(path, {"key": key * 32, "token": token, **fields})


def give(world: World, item_id: int, guest_id: int) -> None:
    from app.actions.kit_rail.kit import give_kit

    with world.act() as act:
        give_kit(act, guest_id, [item_id])


def test_a_fault_is_two_taps_and_the_lead_sees_who_used_it(rail: World) -> None:
    group_of(rail, [1])
    give(rail, 1, 1)
    guide = rail.browser("Ines Instructor")
    page = guide.open("/kit/items/1")
    twice = guide.open("/kit/items/1")
    asked = page.send("report_kit_fault")
    assert "Item is out of use. What is wrong?" in asked.words() and held(rail, 1) == ["W1"]
    assert "Ann: 10:30 Long Jetty, group A, given out by Daybuoy" in asked.words()
    lead = rail.browser("Lena Lead")
    today = lead.open("/today").words()
    assert "Something is wrong with kit" in today and "Not told yet what." in today and "group A" in today
    assert "Something is wrong with kit" not in guide.open("/today").words()
    again = twice.send("report_kit_fault")
    assert len(again.forms("describe_kit_fault")) == 1, "told twice is one fault"
    empty = asked.send("describe_kit_fault", what="")
    assert empty.status == 422 and "Enter what is wrong." in empty.words()
    stale = guide.open("/kit/items/1")
    told = asked.send("describe_kit_fault", what="Zip sticks halfway")
    assert told.words().count("Zip sticks halfway") == 2, "the fault, and why it is out of use"
    assert stale.send("describe_kit_fault", what="Knee torn").status == 409
    assert "Zip sticks halfway" in lead.open("/today").words()
    assert not guide.open("/kit/items/1").forms("see_kit_fault")
    older = lead.open("/kit/items/1")
    assert "Marked as seen." in lead.open("/kit/items/1").send("see_kit_fault").words()
    assert older.send("see_kit_fault").status == 409
    assert "Something is wrong with kit" not in lead.open("/today").words()
    desk = rail.browser("Dora Desk")
    assert desk.open("/kit/items/1").send("kit_back_in_use", found="").status == 422
    back = desk.open("/kit/items/1").send("kit_back_in_use", found="Waxed the zip")
    assert "Waxed the zip, Dora Desk" in back.words() and not back.forms("describe_kit_fault")
    assert post(guide, "/kit/faults/1/seen", "a").status == 404
    assert post(guide, "/kit/faults/99/what", "b", what="x").status == 404
    assert post(desk, "/kit/items/99/fault", "c").status == 404
    assert post(rail.browser("Kim Keeper"), "/kit/items/1/fault", "d").status == 404


def test_a_reason_given_at_once_is_told_to_the_lead_too(rail: World) -> None:
    rail.browser("Dora Desk").open("/kit/items/3").send("set_kit_aside", why="Skirt torn")
    assert "Skirt torn" in rail.browser("Lena Lead").open("/today").words()


def test_a_guests_kit_list_reports_a_fault_in_two_taps(rail: World) -> None:
    give(rail, 1, 1)
    desk = rail.browser("Dora Desk")
    page = desk.open("/kit/guests/1").send("report_kit_fault", at="/kit/items/1/fault")
    assert (
        page.url.endswith("/kit/items/1?done=" + page.url.rpartition("=")[2])
        and "What is wrong" in page.words()
    )


def test_services_of_several_items_are_written_down_at_once(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    page = desk.open("/kit/service")
    assert "jacket J2 (L) until Sun 13 Sep 2026" in page.words() and "J1" not in page.words()
    assert "regulator R1 no service on file" in page.words()
    none = page.send("service_several", serviced_day="1", serviced_month="7", serviced_year="2026")
    assert none.status == 422 and "Tick the items that were serviced." in none.words()
    undated = page.send("service_several", item=["6", "7"])
    assert undated.status == 422 and undated.words().count("day of the service") > 0
    kept = [value for name, value in undated.form_fields("service_several")[1] if name == "item"]
    assert kept == ["7", "6"], "ticks stay"
    dated = {"serviced_day": "10", "serviced_month": "7", "serviced_year": "2026"}
    assert undated.send("service_several", item=["1"], **dated).status == 422
    assert page.send("service_several", item=["99"], **dated).status == 422
    done = undated.send("service_several", **dated)
    assert "Services written down." in done.words() and "Nothing is due." in done.words()
    assert "Sat 10 Jul 2027" in desk.open("/kit/items/7").words()
    assert rail.browser("Ines Instructor").open("/kit/service").status == 404


def test_the_manager_writes_the_shops_own_sizes(rail: World) -> None:
    manager = rail.browser("Mona Manager")
    page = manager.open("/kit/chart/suit")
    assert "our own starting chart" in page.words()
    fields = dict(page.form_fields("write_chart")[1])
    assert fields["height-M-low"] == "169" and fields["height-M-high"] == "177"
    for wrong, said in (
        ({"height-M-low": "170"}, "No size from 169 cm to 170 cm, between S and M."),
        ({"height-M-low": "168"}, "S and M both cover 168 cm to 169 cm."),
        ({"height-M-low": ""}, "M: write both ends, or leave both empty."),
        ({"height-M-low": "tall"}, "as a number in cm"),
        ({"why": ""}, "Enter why it changes."),
    ):
        sent = {"why": "Our suits are cut small", **wrong}
        refused = page.send("write_chart", **sent)
        assert refused.status == 422 and said in refused.words(), (said, refused.words()[:500])
        kept = dict(refused.form_fields("write_chart")[1])
        assert all(kept[name] == value for name, value in sent.items())
    stale = manager.open("/kit/chart/suit")
    smaller = {"height-S-high": "168", "height-M-low": "168", "height-M-high": "171", "height-L-low": "171"}
    done = page.send("write_chart", why="Our suits are cut small", **smaller)
    assert "Sizes changed." in done.words() and "Our suits are cut small" in done.words()
    assert "Mona Manager" in done.words() and "built in" not in done.words().lower()
    clash = stale.send("write_chart", why="Mine", **{"height-M-high": "178", "height-L-low": "178"})
    assert clash.status == 409 and "M 168 to 171" in clash.words() and "M 169 to 178" in clash.words()
    desk = rail.browser("Dora Desk")
    assert "Try suit W2 (L)" in desk.open("/kit").words(), "172 cm is an L now"
    assert "Mona Manager" in desk.open("/kit/chart").words()
    read_only = desk.open("/kit/chart/suit")
    assert read_only.status == 200 and not read_only.forms("write_chart")
    for path in ("/kit/chart/regulator", "/kit/chart/hat"):
        assert manager.open(path).status == 404
    for path, sent in (("/kit/chart/suit", {"why": "x"}), ("/kit/chart", {"why": "x", "kind": "suit"})):
        assert post(desk, path, path[-1], **sent).status == 404
    empty = dict.fromkeys(fields.keys() - {"key", "token", "seen"}, "")
    nothing = manager.open("/kit/chart/suit").send("write_chart", **{**empty, "why": "None"})
    assert nothing.status == 422 and "Write at least one size." in nothing.words()
    boots = manager.open("/kit/chart/boots").form_fields("write_chart")[1]
    assert ("shoe-41-high", "41") in boots and not [name for name, _ in boots if name.startswith("height")]


def test_what_a_first_dive_needs_is_the_shops_list(rail: World) -> None:
    desk, manager = rail.browser("Dora Desk"), rail.browser("Mona Manager")
    give(rail, 1, 1)
    assert "missing jacket, boots, fins, mask, regulator" in desk.open("/kit").words()
    page = manager.open("/kit/chart")
    assert page.send("set_needs", kind=None, why="x").status == 422
    assert page.send("set_needs", kind=["hat"], why="x").status == 422
    unsaid = page.send("set_needs", kind=["suit", "mask"], why="")
    assert unsaid.status == 422
    kept = [value for name, value in unsaid.form_fields("set_needs")[1] if name == "kind"]
    assert kept == ["suit", "mask"]
    stale = manager.open("/kit/chart")
    assert "Pool games" in page.send("set_needs", kind=["suit"], why="Pool games").words()
    clash = stale.send("set_needs", kind=["suit", "mask"], why="No")
    assert clash.status == 409
    assert desk.open("/kit").people()["guest-1"] == "has-kit"
    with rail.act() as act:
        from app.records.tables.house import SiteRow

        site = act.get(SiteRow, 1)
        site.usual_temp_c = 12
        act.session.add(site)
    assert "missing hood" in desk.open("/kit").words(), "cold water asks for a hood"


def test_lead_on_the_rail_is_what_was_counted_less_what_is_out(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    page = desk.open("/kit/lead")
    assert "No lead is counted yet." in page.words()
    for wrong in ({"piece_kg": "0", "pieces": "3"}, {"piece_kg": "1", "pieces": "2.5"}, {"piece_kg": "1"}):
        assert page.send("count_lead", **wrong).status == 422
    page = page.send("count_lead", piece_kg="1", pieces="30")
    page = page.send("count_lead", piece_kg="2", pieces="20")
    page = page.send("count_lead", piece_kg="2", pieces="10")
    with rail.act() as act:
        shared = {"guest_id": 1, "slot_id": 1, "suggested_kg": 8, "method": "x", "given_by": "x"}
        act.add(WeightsRow(**shared, given_kg=8, at=act.now))
        act.add(WeightsRow(**shared, given_kg=9, at=act.now, back_at=act.now))
    words = desk.open("/kit/lead").words()
    assert "on the rail 42 kg" in words and "with guests 8 kg" in words and "counted in all 50 kg" in words
    assert rail.browser("Ines Instructor").open("/kit/lead").status == 404


def test_a_stocktake_is_walked_by_two_and_each_difference_is_settled(rail: World) -> None:
    give(rail, 1, 1)
    give(rail, 3, 1)
    rail.clock.pass_minutes(1)
    desk, guide = rail.browser("Dora Desk"), rail.browser("Ines Instructor")
    desk.open("/kit/items/7").send("set_kit_aside", why="Free flow")
    page = desk.open("/kit/stocktakes").send("begin_stocktake")
    assert page.url.split("?")[0].endswith("/kit/stocktakes/1")
    assert desk.open("/kit/stocktakes").forms("begin_stocktake") == []
    assert "0 here, 5 not seen yet" in page.words()
    page = page.send("mark_stocktake", at="/kit/stocktakes/1/items/2?kind=suit", mark="here")
    assert "1 here, 4 not seen yet" in page.words()
    page = page.send("mark_stocktake", at="/kit/stocktakes/1/items/2?kind=suit", mark="not here")
    page = page.send("mark_stocktake", at="/kit/stocktakes/1/items/2?kind=suit", mark="here")
    # The walk goes on on another phone: the mask that Ann has hangs there.
    other = guide.open("/kit/stocktakes/1?kind=mask")
    for number in ("m1", "http://shop/k/J1", "R1"):
        other = other.send("scan_stocktake", number=number)
    unknown = other.send("scan_stocktake", number="X1")
    assert unknown.status == 422 and "Nothing on the rail bears the number X1." in unknown.words()
    assert unknown.find("input", id="f-number")[0].get("value") == "X1"
    assert held(rail, 1) == ["W1", "M1"], "nothing changed silently"
    end = guide.open("/kit/stocktakes/1?differences")
    states = {e.get("data-item"): e.get("data-state") for e in end.find("li") if e.get("data-item")}
    assert states == {
        "J2": "missing",
        "M2": "missing",
        "M1": "here, though it is out",
        "R1": "set aside, here",
        "W1": "with a guest",
    }
    assert not end.forms("close_stocktake")
    early = post(guide, "/kit/stocktakes/1/close", "a", version="1")
    assert early.status == 422 and "Not settled yet: J2, M1, M2." in early.words()
    for item, how, status in (
        ("4", "gone", 422),
        ("4", "is back", 422),
        ("2", "lost", 422),
        ("99", "lost", 422),
    ):
        assert (
            post(guide, f"/kit/stocktakes/1/items/{item}/settle", f"{item}{how[0]}" * 8, how=how).status
            == status
        )
    quick = guide.open("/kit/stocktakes/1?differences")
    end = end.send("settle_difference", at="/kit/stocktakes/1/items/3/settle", how="is back")
    assert held(rail, 1) == ["W1"]
    late = quick.send("settle_difference", at="/kit/stocktakes/1/items/3/settle", how="still out")
    assert late.status == 422 and "Nothing was changed." in late.words()
    end = end.send("settle_difference", at="/kit/stocktakes/1/items/4/settle", how="lost")
    assert "Lost: not found at stocktake 1." in desk.open("/kit/items/4").words()
    end = end.send("settle_difference", at="/kit/stocktakes/1/items/6/settle", how="still out")
    stale = guide.open("/kit/stocktakes/1?differences")
    done = end.send("close_stocktake")
    assert "2 here; 1 with a guest: W1; 1 lost: M2; 1 still out: J2" not in done.words()
    assert "lost: M2" in done.words() and "still out: J2" in done.words()
    shut = stale.send("close_stocktake")
    assert shut.status == 422 and "This stocktake was closed by Ines Instructor." in shut.words()
    assert post(guide, "/kit/stocktakes/1/items/2", "b", mark="here").status == 422
    assert "Ines Instructor" in desk.open("/kit/stocktakes").words()
    with rail.house.store.reading() as session:
        assert records.open_stocktake(session) is None and len(records.stocktakes(session)) == 1
    for path in ("/kit/stocktakes/99", "/kit/stocktakes/99?differences"):
        assert desk.open(path).status == 404
    again = desk.open("/kit/stocktakes").send("begin_stocktake")
    assert "/kit/stocktakes/2" in again.url and desk.open("/kit/stocktakes/2?kind=hat").status == 404
    assert rail.browser("Kim Keeper").open("/kit/stocktakes").status == 404
