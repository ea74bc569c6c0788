"""Kit rail for a queue: scanned pieces, a whole party at once, what fits, rinsing, and other slots."""

import pytest
from sqlmodel import select

from app.records.tables.kit import KitItemRow, KitLoanRow
from app.records.tables.kit_keeping import KitFitRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from tests.groups_world import book
from tests.web.test_kit_rail import NEXT_YEAR, held, offered
from tests.web_world import Browser, Page, World


@pytest.fixture
def rail(world: World) -> World:
    """Ann and Ben at 10:30, Cara alone at 13:30, all 172 cm and 70 kg; two of everything but regulators."""
    book(world, "Ann", "Ben")
    book(world, "Cara", slot_id=2)
    with world.act() as act:
        for kind, letter, size in (
            ("suit", "W", "M"),
            ("jacket", "J", "M"),
            ("boots", "B", "41"),
            ("fins", "F", "41"),
            ("mask", "M", "medium"),
            ("regulator", "R", ""),
        ):
            due = NEXT_YEAR if kind in ("jacket", "regulator") else None
            thick = 7 if kind == "suit" else None
            for n in (1, 2) if kind != "regulator" else (1, 2, 3):
                row = KitItemRow(kind=kind, number=f"{letter}{n}", size=size, service_due=due)
                row.thickness_mm = thick
                act.add(row)
    return world


def wait(world: World, browser: Browser, minutes: int) -> None:
    """Let time pass at the desk, which touches its tablet now and then."""
    for _ in range(0, minutes, 15):
        world.clock.pass_minutes(15)
        browser.open("/kit")


def scan(page: Page, number: str, to: str) -> Page:
    return page.send("scan_kit", number=number, to=to)


def test_numbers_and_labels_go_out_and_come_back_and_the_choice_stays(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    page = scan(desk.open("/kit"), "w1", "1")
    assert "Suit W1 went to Ann." in page.words() and held(rail, 1) == ["W1"]
    box = page.find("input", id="f-number")[0]
    assert box.get("value") == "" and "autofocus" in box.attrib
    assert dict(page.form_fields("scan_kit")[1])["to"] == "1", "the next piece goes to the same guest"
    page = scan(page, "http://192.168.1.20:8000/k/J1?x#y", "1")
    assert held(rail, 1) == ["W1", "J1"]
    again = scan(page, "W1", "1")
    assert again.status == 422 and "Suit W1 is with Ann already." in again.words()
    assert dict(again.form_fields("scan_kit")[1]) | {"key": "", "token": ""} == {
        "key": "", "token": "", "to": "1", "number": "W1",
    }  # fmt: skip
    other = scan(page, "W1", "2")
    assert other.status == 422 and "kit_free" in other.rules() and held(rail, 2) == []
    second = scan(page, "W2", "1")
    assert second.status == 422 and "Ann has suit W1 already." in second.words()
    for number, to, said in (
        ("X9", "1", "Nothing on the rail bears the number X9."),
        ("", "1", "Enter the number on the item."),
        ("W2", "", "Enter who it goes to, or that it comes back."),
        ("W2", "nobody", "Choose who it goes to, or that it comes back."),
        ("W2", "back", "Suit W2 is with nobody."),
    ):
        wrong = scan(page, number, to)
        assert wrong.status == 422 and said in wrong.words(), wrong.words()
    assert scan(page, "W2", "99").status == 404
    back = scan(page, "W1", "back")
    assert "Suit W1 is back from Ann." in back.words() and held(rail, 1) == ["J1"]
    assert dict(back.form_fields("scan_kit")[1])["to"] == "back"
    wet = scan(back, "W1", "2")
    assert wet.status == 422 and "kit_rinsed" in wet.rules()


def test_a_party_is_fitted_with_one_form_and_exceptions_are_changed_in_place(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    page = desk.open("/kit/parties/1")
    fields = dict(page.form_fields("give_party_kit")[1])
    assert fields["1-suit"] == "W1" and fields["2-suit"] == "W2" and len(fields) == 2 + 12
    assert "Give all 12 pieces" in page.words()
    for wrong, said in (
        ({"2-suit": "W1"}, "W1 stands here twice."),
        ({"2-suit": "J2"}, "J2 is of another kind: jacket J2 (M)."),
        ({"2-suit": "X7"}, "Nothing on the rail bears the number X7."),
    ):
        refused = page.send("give_party_kit", **wrong, **{"1-mask": ""})
        assert refused.status == 422 and said in refused.words() and held(rail, 1) == []
        kept = dict(refused.form_fields("give_party_kit")[1])
        assert kept["2-suit"] == wrong["2-suit"] and kept["1-mask"] == "", "what was typed and left out stays"
    empty = page.send("give_party_kit", **dict.fromkeys(fields.keys() - {"key", "token"}, ""))
    assert empty.status == 422 and "Write at least one number." in empty.words()
    with rail.act() as act:
        act.add(KitLoanRow(item_id=1, guest_id=3, slot_id=2, out_at=act.now, out_by="a test"))
    late = page.send("give_party_kit")
    assert late.status == 422 and "kit_free" in late.rules() and held(rail, 2) == [], "all or none"
    token, key = fields["token"], "p" * 32
    given = {**fields, "key": key, "1-suit": "", "2-mask": ""}
    done = desk.post("/kit/parties/1/give", given)
    assert "Kit of the party given out." in done.words()
    assert desk.post("/kit/parties/1/give", given).status == 200, "sent twice"
    assert held(rail, 1) == ["J1", "B1", "F1", "M1", "R1"] and held(rail, 2) == ["W2", "J2", "B2", "F2", "R2"]
    assert page.send("give_party_kit", **{"3-suit": "W2"}).status == 422, "a guest of another party"
    ticks = [value for name, value in done.form_fields("take_back_party_kit")[1] if name == "loan"]
    assert len(ticks) == 10
    none = done.send("take_back_party_kit", loan=None)
    assert none.status == 422 and "Tick what is back." in none.words()
    assert not [v for n, v in none.form_fields("take_back_party_kit")[1] if n == "loan"], "ticks stay off"
    assert done.send("take_back_party_kit", loan=["1"]).status == 422, "not of this party"
    left = done.send("take_back_party_kit", loan=ticks[1:])
    assert "What was ticked is back." in left.words() and held(rail, 1) == ["J1"] and held(rail, 2) == []
    assert desk.post("/kit/parties/99/give", {"key": "q" * 32, "token": token}).status == 404
    assert desk.open("/kit/parties/99").status == 404


def test_who_may_not_fit_parties(rail: World) -> None:
    for name in ("Ines Instructor", "Mona Manager"):
        browser = rail.browser(name)
        page = browser.open("/kit")
        assert not page.forms("scan_kit") and browser.open("/kit/parties/1").status == 404
        token = dict(page.form_fields("sign-out")[1])["token"]
        for n, path in enumerate(("scan", "parties/1/give", "parties/1/back", "loans/1/fit")):
            sent = {"key": f"{n}" * 32, "token": token, "number": "W1", "to": "1"}
            assert browser.post(f"/kit/{path}", sent).status == 404
    assert held(rail, 1) == []


def test_nothing_unrinsed_reaches_a_guest_and_one_tap_marks_it(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    page = desk.open("/kit").send("give_kit", at="/kit/guests/1/give?rail")
    stale = page
    page = page.send("take_back_all_kit", at="/kit/guests/1/back?rail")
    assert "To rinse: 6" in page.words() and "rinsed and disinfected" in page.words()
    refused = stale.send("give_kit", at="/kit/guests/2/give?rail", item=["1"])
    assert refused.status == 422 and "kit_rinsed" in refused.rules()
    item = desk.open("/kit/items/1")
    assert "to rinse until 09:30" in item.words()
    assert desk.open("/kit/items/9").words().count("rinsed and disinfected") == 1, "a mask is disinfected"
    marked = item.send("mark_rinsed")
    assert "Marked as rinsed." in marked.words() and "free" in marked.words()
    older = desk.open("/kit/items/1")
    undone = marked.send("not_rinsed")
    assert "still waits to be rinsed" in undone.words() and older.send("not_rinsed").status == 409
    at = next(
        f.get("action", "") for f in desk.open("/kit").forms("mark_rinsed") if "all" in f.get("action", "")
    )
    done = desk.open("/kit").send("mark_rinsed", at=at)
    assert "To rinse" not in done.words()
    again = page.send("mark_rinsed", at=at)
    assert again.status == 200, "what is marked already stays so"
    given = done.send("give_kit", at="/kit/guests/2/give?rail")
    assert held(rail, 2) == ["W2", "J2", "B2", "F2", "M2", "R2"] and "1" in offered(given, 1)
    token = dict(given.form_fields("sign-out")[1])["token"]
    for loan in ("", "99"):
        assert desk.post("/kit/rinsed", {"key": f"s{loan}" * 16, "token": token, "loan": loan}).status == 422


def test_time_alone_rinses(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    desk.open("/kit").send("give_kit", at="/kit/guests/1/give?rail")
    desk.open("/kit/guests/1").send("take_back_all_kit")
    assert "1" not in offered(desk.open("/kit"), 2)
    wait(rail, desk, 30)
    assert "To rinse" not in desk.open("/kit").words() and "1" in offered(desk.open("/kit"), 1)


def test_the_next_slot_counts_on_what_will_be_back_and_names_a_clash(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    page = desk.open("/kit")
    for guest in (1, 2):
        page = page.send("give_kit", at=f"/kit/guests/{guest}/give?rail")
    later = desk.open("/kit?slot=2").words()
    # Out with 10:30, which keeps people busy for 90 minutes; half an hour to rinse: 12:30, before 13:30.
    assert "Later: suit W1 (M), after Ann of 10:30, about 12:30" in later and "Try regulator R3." in later
    with rail.act() as act:
        slot = act.get(SlotRow, 2)
        slot.starts_at, slot.clock = slot.starts_at.replace(hour=10, minute=45), "11:45"
        act.session.add(slot)
    clash = desk.open("/kit?slot=2").words()
    assert "Nothing free: suit M (W1 goes to Ann of 10:30 first, clean about 12:30)" in clash
    assert "Later:" not in clash


def test_earlier_guests_who_are_not_fitted_yet_choose_first(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    with rail.act() as act:
        slot = act.get(SlotRow, 2)
        slot.starts_at, slot.clock = slot.starts_at.replace(hour=9, minute=45), "10:45"
        act.session.add(slot)
    words = desk.open("/kit?slot=2").words()
    assert "suit M (W1 goes to Ann of 10:30 first, clean about 12:30)" in words and "regulator R3" in words


def test_a_fit_is_remembered_for_the_next_size_and_for_the_next_visit(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    with rail.act() as act:
        act.add(KitItemRow(kind="suit", number="W7", size="L", thickness_mm=7))
    desk.open("/kit").send("give_kit", at="/kit/guests/1/give?rail")
    page = desk.open("/kit/guests/1")
    assert page.send("tell_fit", at="/kit/loans/1/fit", said="tight").status == 422
    stale = desk.open("/kit/guests/1")
    small = page.send("tell_fit", at="/kit/loans/1/fit", said="too small")
    assert "Remembered for this guest." in small.words() and "W1" not in held(rail, 1)
    assert stale.send("tell_fit", at="/kit/loans/1/fit", said="fits").status == 409
    assert "suit W7 (L)" in small.words() and "M: too small" in small.words()
    assert "To rinse" not in desk.open("/kit").words(), "tried on ashore, never wet"
    small.send("give_kit", at="/kit/guests/1/give")
    held_now = desk.open("/kit/guests/1")
    assert "W7" in held(rail, 1)
    loan = next(f.get("action") for f in held_now.forms("tell_fit") if f.get("action", "").endswith("/7/fit"))
    assert "Remembered" in held_now.send("tell_fit", at=loan, said="fits").words() and "W7" in held(rail, 1)
    token = dict(held_now.form_fields("sign-out")[1])["token"]
    no_size = desk.post("/kit/loans/6/fit", {"key": "f" * 32, "token": token, "version": "1", "said": "fits"})
    assert no_size.status == 422 and "has no size" in no_size.words()
    with rail.house.store.reading() as session:
        assert [(one.size, one.said) for one in session.exec(select(KitFitRow).order_by(KitFitRow.id))] == [  # type: ignore[arg-type]
            ("M", "too small"),
            ("L", "fits"),
        ]
    with rail.act() as act:
        party = act.add(PartyRow(ref="later", slot_id=3, contact_name="Ann Vale", booked_at=act.now))
        was = act.get(GuestRow, 1).model_dump(exclude={"id", "ref", "party_id"})
        again = act.add(GuestRow(ref="later", party_id=party.id or 0, **was))
    assert "M: too small" in desk.open(f"/kit/guests/{again.id}").words(), "the same person comes again"
    manager = rail.browser("Mona Manager")
    assert "M was too small for 1 of 1, at 172 cm." in manager.open("/kit/chart/suit").words()


def test_an_items_page_offers_the_next_act_first(rail: World) -> None:
    desk = rail.browser("Dora Desk")
    page = desk.open("/kit/items/1")
    said = [form.get("action") for form in page.forms("give_kit")]
    assert said == ["/kit/guests/1/give?item=1", "/kit/guests/2/give?item=1", "/kit/guests/3/give?item=1"]
    assert "Give to Ann, 10:30" in page.words()
    given = page.send("give_kit", at="/kit/guests/1/give?item=1")
    assert "Take back from Ann" in given.words() and "back about 12:00" in given.words()
    late = page.send("give_kit", at="/kit/guests/2/give?item=1")
    assert late.status == 422 and "kit_free" in late.rules() and "Take back from Ann" in late.words()
    stale = desk.open("/kit/items/1")
    back = given.send("take_back_kit", at="/kit/loans/1/back?item=1")
    assert "It is rinsed and dry" in back.words() and held(rail, 1) == []
    assert stale.send("take_back_kit", at="/kit/loans/1/back?item=1").status == 409
    assert not rail.browser("Ines Instructor").open("/kit/items/1").forms("give_kit")
