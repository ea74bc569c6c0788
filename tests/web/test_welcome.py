"""Welcome: the day's list, booking a party with its review, and the last place."""

from datetime import timedelta

from sqlmodel import select

from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from tests.booking_world import CONTACT, begin, booked, guest_form, review
from tests.web_world import DAY, World


def parties(world: World) -> list[PartyRow]:
    with world.house.store.reading() as session:
        return list(session.exec(select(PartyRow)))


def test_a_party_is_booked_from_one_form_and_one_review(world: World) -> None:
    desk = world.browser("Dora Desk")
    empty = desk.open("/welcome")
    assert "Nobody is booked here yet." in empty.words() and "6 places left" in empty.words()
    choose = desk.open("/welcome/book?slot=1")
    assert choose.words().index("10:30 Long Jetty") < choose.words().index("13:30 Long Jetty")
    form = begin(desk, people=2)
    for slot in ("10:30 Long Jetty", "13:30 Long Jetty", "16:00 Training Pool"):
        assert slot in form.words()
    looked = review(desk, names=("Pella Windrow", "Bo <b>Dray"))
    assert looked.status == 200 and parties(world) == []
    assert "170.00 EUR" in looked.words() and "35 years" in looked.words()
    assert "Bo <b>Dray" in looked.words() and "English, German" in looked.words()
    party = looked.send("book_party")
    assert "Party booked at the shop." in party.words()
    assert set(party.people().values()) == {"not-asked"}
    rows = parties(world)
    assert [(row.contact_name, row.price_cents, row.walk_in) for row in rows] == [
        ("Pella Windrow", 17000, True)
    ]
    with world.house.store.reading() as session:
        guest = session.exec(select(GuestRow)).first()
        assert guest is not None and (guest.call_name, guest.languages) == ("Pella", "en de")
    listed = desk.open("/welcome")
    assert "4 places left" in listed.words() and "555 0111" in listed.words()
    assert "not paid" in listed.words() and "Not asked yet" in listed.words()


def test_change_links_keep_everything_and_people_can_be_added(world: World) -> None:
    desk = world.browser("Dora Desk")
    back = review(desk, note="Window\nseat", price="70").send("change_booking")
    assert back.status == 200
    kept = dict(back.form_fields("review_party")[1])
    assert kept["contact_name"] == "Pella Windrow" and kept["g1_birth_year"] == "1991"
    assert kept["slot"] == "1" and kept["price"] == "70" and "Window" in kept["note"]
    _, pairs = back.form_fields("review_party")
    more = desk.post("/welcome/book/change", [*pairs, ("step", "more")])
    assert dict(more.form_fields("review_party")[1])["people"] == "2"
    assert dict(more.form_fields("review_party")[1])["g1_full_name"] == "Pella Windrow"
    fewer = desk.post("/welcome/book/change", [*more.form_fields("review_party")[1], ("step", "fewer")])
    assert dict(fewer.form_fields("review_party")[1])["people"] == "1"
    saved = fewer.send("review_party").send("book_party")
    assert "70.00 EUR" in saved.words() and parties(world)[0].price_cents == 7000
    assert desk.open("/welcome/book/review").url.endswith("/welcome/book")


def test_bad_input_stands_beside_its_field_and_nothing_is_stored(world: World) -> None:
    desk = world.browser("Dora Desk")
    huge = review(desk, g1_birth_year="9" * 30)
    assert huge.status == 422 and "Enter the birth date as day, month and year" in huge.words()
    bad = review(
        desk, contact_name="", g1_birth_month="13", g1_height_cm="17", g1_languages="klingon", email="pella"
    )
    assert bad.status == 422
    for sentence in (
        "Enter the contact's name.",
        "Enter the birth date as day, month and year",
        "Height must be between 90 and 230 cm.",
        'Write "klingon" in English',
        "Write the e-mail address with a name",
    ):
        assert sentence in bad.words()
    kept = dict(bad.form_fields("review_party")[1])
    assert (
        kept["g1_birth_month"] == "13" and kept["phone"] == "555 0111" and kept["g1_languages"] == "klingon"
    )
    assert review(desk, walk_in="").status == 422
    assert review(desk, slot=1, strange="1").status == 422
    no_slot = begin(desk).send(
        "review_party", slot=None, walk_in="yes", **CONTACT, **guest_form(prefix="g1_")
    )
    assert no_slot.status == 422 and "Choose a time." in no_slot.words()
    assert parties(world) == []
    tall = review(desk, g1_height_cm="208")
    assert "Unusual. Check the height." in tall.words() and "height_unusual_above" in tall.rules()


def test_the_last_place_is_sold_once(world: World) -> None:
    booked(world, slot=3, names=("A One", "B Two", "C Three"))
    first, second = world.browser("Dora Desk"), world.browser("Dora Desk")
    mine, yours = review(first, slot=3, names=("D Four",)), review(second, slot=3, names=("E Five",))
    assert mine.send("book_party").status == 200
    late = yours.send("book_party")
    assert late.status == 422 and "places_left" in late.rules()
    assert "16:00 Training Pool has 0 places left." in late.words()
    assert dict(late.form_fields("review_party")[1])["g1_full_name"] == "E Five"
    assert len(parties(world)) == 2
    assert "16:00 Training Pool: full" in begin(first).words()
    assert "Full" in first.open("/welcome").words()


def test_a_form_sent_twice_books_once(world: World) -> None:
    desk = world.browser("Dora Desk")
    to, pairs = review(desk).form_fields("book_party")
    assert desk.post(to, pairs).url == desk.post(to, pairs).url
    changed = [(name, "Other" if name == "contact_name" else value) for name, value in pairs]
    assert desk.post(to, changed).status == 409
    assert len(parties(world)) == 1


def test_booking_ahead_closes_before_the_slot_and_walk_ins_may_come_until_it_starts(world: World) -> None:
    desk = world.browser("Dora Desk")
    world.clock.at = world.clock.at.replace(hour=9, minute=10)
    desk = world.browser("Dora Desk")
    ahead = review(desk, walk_in="no")
    assert ahead.status == 422 and "booking_closes_before" in ahead.rules()
    assert review(desk, walk_in="yes").send("book_party").status == 200
    world.clock.pass_minutes(21)
    desk = world.browser("Dora Desk")
    assert review(desk, walk_in="yes").status == 422
    assert "10:30 Long Jetty: began" in begin(desk).words()


def test_children_are_held_against_the_site(world: World) -> None:
    desk = world.browser("Dora Desk")
    child = review(desk, g1_birth_year="2017")
    assert child.status == 422 and "age_min_open_water" in child.rules()
    assert review(desk, slot=3, g1_birth_year="2017").status == 200


def test_another_day_and_addresses_that_are_not_there(world: World) -> None:
    desk = world.browser("Dora Desk")
    tomorrow = DAY + timedelta(days=1)
    assert "No slots on this day" in desk.open(f"/welcome?day={tomorrow}").words()
    assert desk.open(f"/welcome/book?day={tomorrow}").status == 200
    with world.act() as act:
        starts = world.clock.at + timedelta(days=1, hours=2)
        act.add(SlotRow(day=tomorrow, clock="11:00", starts_at=starts, site_id=1, places=4))
    form = desk.open("/welcome/book?slot=4&people=1")
    assert "11:00 Long Jetty" in form.words() and dict(form.form_fields("review_party")[1])["walk_in"] == "no"
    for path in ("slot=99", "slot=x", "slot=1&people=0", "slot=1&people=9", "slot=1&people=x"):
        assert desk.open(f"/welcome/book?{path}").status == 404
    assert desk.open("/welcome?day=soon").status == 404


def test_a_guide_reads_the_list_without_phones_and_books_nothing(world: World) -> None:
    booked(world)
    for name in ("Ines Instructor", "Mona Manager"):
        page = world.browser(name).open("/welcome")
        assert "Pella" in page.words() and "555 0111" not in page.text and not page.forms("book_party")
        assert world.browser(name).open("/welcome/book").status == 404
    assert world.browser("Kim Keeper").open("/welcome").status == 404
    lead = world.browser("Lena Lead")
    assert lead.open("/welcome/book").status == 200 and "555 0111" in lead.open("/welcome").text
    guide = world.browser("Ines Instructor")
    token = dict(guide.open("/welcome").form_fields("sign-out")[1])["token"]
    assert guide.post("/welcome/book", {"key": "k" * 32, "token": token}).status == 404
