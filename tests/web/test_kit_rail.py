"""Kit rail: giving out by size, taking back, undo, lead, items out of use and back, who may."""

from datetime import date

import pytest
from sqlmodel import select

from app.records.kit_rail import kit
from app.records.tables.kit import KitItemRow, KitLoanRow, WeightsRow
from tests.groups_world import book, give_cylinders, group_of
from tests.web_world import Page, World

NEXT_YEAR = date(2027, 3, 1)


@pytest.fixture
def rail(world: World) -> World:
    """Ann and Ben (172 cm, 70 kg, shoes 41) at 10:30, and a small rail; number 1 is the first suit."""
    book(world, "Ann", "Ben")
    with world.act() as act:
        for kind, number, size in (
            ("suit", "W1", "M"),
            ("suit", "W2", "L"),
            ("suit", "W3", "XS"),
            ("boots", "B1", "41"),
            ("boots", "B2", "42"),
            ("fins", "F1", "41"),
            ("mask", "M1", "medium"),
        ):
            thick = 7 if kind == "suit" else None
            act.add(KitItemRow(kind=kind, number=number, size=size, thickness_mm=thick))
        act.add(KitItemRow(kind="jacket", number="J1", size="M", service_due=NEXT_YEAR))
        act.add(KitItemRow(kind="jacket", number="J2", size="M", service_due=date(2026, 7, 14)))
        act.add(KitItemRow(kind="regulator", number="R1", service_due=NEXT_YEAR))
    return world


def held(world: World, guest_id: int) -> list[str]:
    with world.house.store.reading() as session:
        return [loan.item.number for loan in kit.loans_of(session, [guest_id]).get(guest_id, [])]


def offered(page: Page, guest: int) -> list[str]:
    fields = page.form_fields("give_kit", f"/kit/guests/{guest}/give?rail")[1]
    return [value for name, value in fields if name == "item"]


def test_the_set_that_fits_goes_out_in_one_tap_and_comes_back_in_one(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    page = desk.open("/kit")
    assert page.people() == {"guest-1": "no-kit", "guest-2": "no-kit"}
    assert "172 cm · 70 kg · shoes 41" in page.words() and "our own starting chart" in page.words()
    assert not set(offered(page, 1)) & set(offered(page, 2)), "one item is offered to one guest"
    stale = page
    given = page.send("give_kit", at="/kit/guests/1/give?rail")
    assert "Kit given out." in given.words() and given.people()["guest-1"] == "has-kit"
    assert held(rail, 1) == ["W1", "J1", "B1", "F1", "M1", "R1"]
    assert "Nothing free: jacket M, fins 41, mask medium, regulator." in given.words()
    late = stale.send("give_kit", at="/kit/guests/2/give?rail", item=["1"])
    assert late.status == 422 and "kit_free" in late.rules() and held(rail, 2) == []
    second = given.send("give_kit", at="/kit/guests/2/give?rail")
    assert held(rail, 2) == ["W2", "B2"] and second.people()["guest-2"] == "part-kit"
    back = second.send("take_back_all_kit", at="/kit/guests/1/back?rail")
    assert "Everything is back." in back.words() and held(rail, 1) == []


def test_item_by_item_out_and_back_and_undone(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    token = dict(desk.open("/kit").form_fields("sign-out")[1])["token"]

    def give(guest: int, item: str, key: str) -> Page:
        return desk.post(f"/kit/guests/{guest}/give", {"key": key * 32, "token": token, "item": item})

    page = give(1, "2", "a")
    assert held(rail, 1) == ["W2"] and give(1, "2", "a").status == 200 and held(rail, 1) == ["W2"]
    another = give(1, "1", "b")
    assert another.status == 422 and "Ann has suit W2 already." in another.words()
    assert give(1, "", "c").status == 422 and give(1, "99", "d").status == 422
    overdue = give(1, "9", "e")
    assert overdue.status == 422 and "kit_service_every" in overdue.rules() and held(rail, 1) == ["W2"]
    stale = desk.open("/kit/guests/1")
    done = page.send("take_back_kit")
    assert "Item is back." in done.words() and held(rail, 1) == []
    assert stale.send("take_back_kit").status == 409
    older = desk.open("/kit/guests/1")
    undone = done.send("undo_kit_back")
    assert "the item is still out" in undone.words() and held(rail, 1) == ["W2"]
    assert older.send("undo_kit_back").status == 409
    undone.send("take_back_kit")
    gone = desk.open("/kit/guests/1")
    wet = give(2, "2", "w")
    assert wet.status == 422 and "kit_rinsed" in wet.rules() and held(rail, 2) == []
    for _ in range(2):
        rail.clock.pass_minutes(15)
        desk.open("/kit")
    give(2, "2", "f")
    refused = gone.send("undo_kit_back")
    assert refused.status == 422 and "kit_free" in refused.rules() and held(rail, 2) == ["W2"]
    for path in ("/kit/guests/99", "/kit?slot=99", "/kit?slot=x", "/kit/items/99", "/kit/items?kind=hat"):
        assert desk.open(path).status == 404
    assert desk.post("/kit/loans/99/back", {"key": "g" * 32, "token": token}).status == 404


def test_lead_is_suggested_with_its_method_and_given_as_typed(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    bare = desk.open("/kit/guests/1")
    assert "No suit is given out yet: this is without one." in bare.words()
    desk.open("/kit").send("give_kit", at="/kit/guests/1/give?rail")
    page = desk.open("/kit/guests/1")
    assert "suit, 7 mm" in page.words() and "this is with 12 L steel" in page.words()
    give_cylinders(rail, group_of(rail, [1]), litres=10)
    page = desk.open("/kit/guests/1")
    assert "cylinder, 10 L steel at 50 bar" in page.words()
    assert dict(page.form_fields("give_weights")[1])["given_kg"] == "", "a suggestion is not an answer"
    assert page.send("give_weights").status == 422
    bad = page.send("give_weights", given_kg="60")
    assert bad.status == 422 and "Lead given must be between 0 and 25 kg." in bad.words()
    assert bad.find("input", name="given_kg")[0].get("value") == "60"
    page = page.send("give_weights", given_kg="8,5 kg")
    page = page.send("give_weights", given_kg="9")
    with rail.house.store.reading() as session:
        rows = session.exec(select(WeightsRow).order_by(WeightsRow.id)).all()  # type: ignore[arg-type]
        assert [(row.given_kg, row.back_at is None) for row in rows] == [(8.5, False), (9, True)]
        assert rows[1].suggested_kg > 0 and "10 L steel" in rows[1].method
    stale = desk.open("/kit/guests/1")
    assert "Lead is back." in page.send("take_back_weights").words()
    assert stale.send("take_back_weights").status == 409


def test_out_of_use_back_in_use_and_serviced(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    page = desk.open("/kit/items/1")
    stale = desk.open("/kit/items/1")
    assert page.send("set_kit_aside", why="").status == 422
    aside = page.send("set_kit_aside", why="Torn at the knee")
    assert "Item is out of use." in aside.words() and "Torn at the knee" in aside.words()
    assert stale.send("set_kit_aside", why="Zip").status == 409
    assert "1" not in offered(desk.open("/kit"), 1)
    assert "Torn at the knee" in desk.open("/kit/items").words()
    token = dict(aside.form_fields("sign-out")[1])["token"]
    given = desk.post("/kit/guests/1/give", {"key": "h" * 32, "token": token, "item": "1"})
    assert given.status == 422 and "kit_not_quarantined" in given.rules()
    assert aside.send("kit_back_in_use", found="").status == 422
    assert "Item is back in use." in aside.send("kit_back_in_use", found="Patched").words()
    jacket = desk.open("/kit/items/9")
    assert "due for service" in jacket.words() and "kit_service_every" in jacket.rules()
    ahead = jacket.send("kit_serviced", serviced_day="1", serviced_month="1", serviced_year="2027")
    assert ahead.status == 422
    done = jacket.send("kit_serviced", serviced_day="10", serviced_month="7", serviced_year="2026")
    assert "Service written down." in done.words() and "Sat 10 Jul 2027" in done.words()


def test_an_item_is_added_once_under_its_number(rail: World) -> None:
    manager = rail.browser("Mona Manager")
    form = manager.open("/kit/items/new?kind=suit")
    bad = form.send("add_kit_item", number="w1", size="M", thickness_mm="5")
    assert bad.status == 422 and "There is an item w1 already." in bad.words()
    assert form.send("add_kit_item", number="W9", size="42", thickness_mm="5").status == 422
    assert form.send("add_kit_item", number="W9", size="M", thickness_mm="50").status == 422
    assert "Item added." in form.send("add_kit_item", number="W9", size="130", thickness_mm="5").words()
    plain = manager.open("/kit/items/new?kind=regulator")
    dated = {"serviced_day": "1", "serviced_month": "6", "serviced_year": "2026"}
    assert plain.send("add_kit_item", number="R2").status == 422
    assert "Tue 1 Jun 2027" in plain.send("add_kit_item", number="R2", **dated).words()
    fresh = manager.open("/kit/items/new?kind=suit")
    assert fresh.send("add_kit_item", kind="hat", number="H1").status == 422
    assert manager.open("/kit/items/new?kind=hat").status == 404


def test_who_may_and_whose_sizes_are_shown(rail: World) -> None:
    with rail.act() as act:
        act.add(KitLoanRow(item_id=1, guest_id=1, slot_id=1, out_at=act.now, out_by="a test"))
    group_of(rail, [1], guide="Ivo Instructor")
    for name, own, other in (
        ("Mona Manager", True, True),
        ("Lena Lead", True, True),
        ("Ivo Instructor", True, False),
        ("Ines Instructor", False, False),
    ):
        browser = rail.browser(name)
        page = browser.open("/kit")
        assert page.text.count("172 cm") == own + other and "W1" in page.words()
        if name == "Lena Lead":
            assert page.forms("give_kit")
            continue
        assert not page.forms("give_kit") and not page.forms("take_back_all_kit")
        assert ("172 cm" in browser.open("/kit/guests/1").text) is own
        assert ("172 cm" in browser.open("/kit/guests/2").text) is other
        token = dict(page.form_fields("sign-out")[1])["token"]
        for path in ("guests/1/give", "guests/1/back", "loans/1/back", "loans/1/undo", "guests/1/weights"):
            assert browser.post(f"/kit/{path}", {"key": "k" * 32, "token": token}).status == 404
    assert rail.browser("Kim Keeper").open("/kit").status == 404
    assert rail.browser("Ivo Instructor").open("/kit/items/new").status == 404


def test_who_does_not_come_gets_nothing_and_still_brings_things_back(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    desk.open("/kit").send("give_kit", at="/kit/guests/1/give?rail")
    stale = desk.open("/kit/guests/2")
    desk.open("/parties/1").send("cancel_party")
    refused = stale.send("give_kit", at="/kit/guests/2/give")
    assert refused.status == 422 and "guest_booked" in refused.rules()
    rail_page = desk.open("/kit?slot=1")
    assert "Out with guests of other slots" in rail_page.words() and "Ann" in rail_page.words()
    page = desk.open("/kit/guests/1")
    assert "not coming any more" in page.words()
    page.send("take_back_all_kit")
    assert held(rail, 1) == []


def test_an_empty_rail_says_what_will_appear(world: World) -> None:
    desk = world.browser("Dora Desk")
    assert "Nobody is booked here yet." in desk.open("/kit").words()
    assert "None of this kind yet." in desk.open("/kit/items").words()
