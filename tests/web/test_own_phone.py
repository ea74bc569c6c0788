"""A guest's own form on the guest's own phone: one guest, one Start, nothing else, nothing left behind."""

import logging
import re
from datetime import timedelta

import pytest

from app.records.tables.parties import SlotRow
from app.web.access import GUEST
from app.web.route_table import route_table
from tests.health_world import (
    TEEN,
    add_guest,
    answer,
    answer_all,
    hand_over,
    screened,
    sign,
    sign_guardian,
    stands,
    to_questions,
)
from tests.web_world import Browser, World, whole_store

LINK = re.compile(r"/form/[A-Za-z0-9_-]{43}")
DEAD = "This link does not open a form any more"


def make(world: World, guest: int, desk: Browser | None = None) -> str:
    """Make a link at the desk and return its address."""
    desk = desk or world.browser("Dora Desk")
    page = desk.open(f"/guests/{guest}/own-phone").send("make_phone_link")
    found = set(LINK.findall(page.text))
    assert page.status == 200 and len(found) == 1, page.words()
    return found.pop()


def begin(world: World, link: str) -> Browser:
    """Press Start on a fresh phone."""
    phone = world.browser()
    page = phone.open(link).send("start_on_phone")
    assert page.url.endswith("/guest"), page.words()
    return phone


def test_the_desk_makes_a_link_and_the_guest_signs_on_the_phone(world: World) -> None:
    guest = add_guest(world)
    desk = world.browser("Dora Desk")
    leads = desk.open(f"/guests/{guest}/health")
    assert f"/guests/{guest}/own-phone" in {a.get("href") for a in leads.find("a")}
    page = desk.open(f"/guests/{guest}/own-phone").send("make_phone_link")
    assert page.headers["cache-control"] == "no-store" and not page.forms("make_phone_link")
    link = LINK.findall(page.text)[0]
    code = page.find("{http://www.w3.org/2000/svg}svg")[0]
    assert code.get("role") == "img" and f"http://127.0.0.1:8000{link}" in page.words()
    assert "from this computer only" in page.words()
    again = desk.open(f"/guests/{guest}/own-phone")
    assert not LINK.search(again.text) and "waits for the guest" in again.words()
    phone = begin(world, link)
    assert desk.open(f"/guests/{guest}/own-phone").words().count("open on the guest’s phone") == 1
    assert desk.open("/today").status == 200
    done = sign(answer_all(to_questions(phone)))
    assert done.url.endswith("/guest/done") and "Gwen" not in done.text
    assert stands(world, guest).outcome == "CLEARED"
    assert "Everything is signed" in desk.open(f"/guests/{guest}/own-phone").words()
    assert phone.open("/guest/review").url.endswith("/guest/done")


def test_opening_a_link_changes_nothing_and_says_no_name(world: World) -> None:
    guest = add_guest(world)
    link = make(world, guest)
    before = whole_store(world.house)
    for _ in range(3):
        page = world.browser().open(link)
        assert page.status == 200 and page.forms("start_on_phone")
        assert not re.search("Gwen|Dora", page.text)
    assert whole_store(world.house) == before
    assert page.headers.get_list("referrer-policy") == ["strict-origin"]
    assert page.headers["cache-control"] == "no-store"
    begin(world, link)


def test_a_link_is_used_up_by_its_start(world: World) -> None:
    guest = add_guest(world)
    link = make(world, guest)
    first = world.browser().open(link)
    late = world.browser().open(link)
    to, pairs = first.form_fields("start_on_phone")
    phone = first.browser
    assert phone.post(to, pairs).url.endswith("/guest")
    # The same tap twice leads to the form; another phone's tap does not.
    assert phone.post(to, pairs).url.endswith("/guest")
    for page in (late.send("start_on_phone"), late.browser.open(link)):
        assert page.status == 404 and DEAD in page.words() and "Ask the desk" in page.words()
    # On the phone itself the link leads back to the form, before and after a page of its own.
    assert phone.open(link).url.endswith("/guest")
    page = answer(to_questions(phone), "N")
    assert phone.open(link).url.endswith("/guest") and page.url.endswith("/guest/questions/2")
    assert phone.open("/guest/questions").url.endswith("/guest/questions/2")


@pytest.mark.parametrize("why", ["taken back", "newer", "signed", "handed over", "not booked", "day over"])
def test_a_link_dies(world: World, why: str) -> None:
    guest = add_guest(world)
    desk = world.browser("Dora Desk")
    link = make(world, guest, desk)
    if why == "taken back":
        page = desk.open(f"/guests/{guest}/own-phone").send("end_phone_link")
        assert page.status == 200 and "The link is dead." in page.words()
    elif why == "newer":
        assert make(world, guest, desk) != link
    elif why == "signed":
        screened(world, guest)
    elif why == "handed over":
        hand_over(world, guest)
    elif why == "not booked":
        desk.open("/parties/1").send("cancel_party")
    else:
        world.clock.pass_minutes(24 * 60)
    page = world.browser().open(link)
    assert page.status == 404 and DEAD in page.words() and not page.forms("start_on_phone")


def test_a_form_on_the_phone_ends_with_its_link_and_with_a_tablet(world: World) -> None:
    guest = add_guest(world)
    desk = world.browser("Dora Desk")
    phone = begin(world, make(world, guest, desk))
    answer(to_questions(phone), "N")
    desk.open(f"/guests/{guest}/own-phone").send("end_phone_link")
    assert phone.open("/guest/questions").url.endswith("/guest/done")
    # A new link goes on where the guest stopped.
    phone = begin(world, make(world, guest, desk))
    assert phone.open("/guest/questions").url.endswith("/guest/questions/2")
    tablet = hand_over(world, guest)
    assert phone.open("/guest").url.endswith("/guest/done")
    begin(world, make(world, guest))
    assert tablet.open("/guest").url.endswith("/guest/done")


def test_a_phone_may_lie_for_twenty_minutes_and_then_needs_a_new_link(world: World) -> None:
    guest = add_guest(world)
    link = make(world, guest)
    phone = begin(world, link)
    world.clock.pass_minutes(19.9)
    assert phone.open("/guest").url.endswith("/guest")
    world.clock.pass_minutes(20.1)
    assert phone.open("/guest").url.endswith("/guest/done")
    assert DEAD in phone.open(link).words()


def test_the_form_on_the_phone_ends_with_the_day(world: World) -> None:
    guest = add_guest(world)
    world.clock.pass_minutes(15 * 60 - 10)
    phone = begin(world, make(world, guest))
    assert phone.open("/guest").status == 200
    world.clock.pass_minutes(15)
    assert phone.open("/guest").status == 404


def test_before_the_day_only_the_history_is_asked(world: World) -> None:
    guest = add_guest(world)
    with world.act() as act:
        slot = act.get(SlotRow, 1)
        act.edit(slot, None, {"day": slot.day + timedelta(days=3)}, {})
    desk = world.browser("Dora Desk")
    page = desk.open(f"/guests/{guest}/own-phone")
    assert "Before the day only the health history is asked" in page.words()
    link = make(world, guest, desk)
    phone = begin(world, link)
    page = to_questions(phone)
    assert "of 12" in page.words()
    sign(answer_all(page))
    found = stands(world, guest, slot.day)
    assert found.history_signed_on == world.clock.at.date() and found.today_signed_on is None
    assert found.outcome == "INCOMPLETE"
    assert "Everything is signed for now" in desk.open(f"/guests/{guest}/own-phone").words()
    world.clock.pass_minutes(3 * 24 * 60)
    page = begin(world, make(world, guest)).open("/guest").send("begin_form")
    assert "of 5" in page.words()
    sign(answer_all(page))
    assert stands(world, guest, slot.day).outcome == "CLEARED"


def test_a_guardian_signs_by_a_link_of_their_own(world: World) -> None:
    guest = add_guest(world, born=TEEN)
    tablet = hand_over(world, guest)
    sign(answer_all(to_questions(tablet)))
    phone = begin(world, make(world, guest))
    page = phone.open("/guest/guardian")
    assert sign_guardian(page).url.endswith("/guest/done")
    assert stands(world, guest).outcome == "CLEARED"


def test_only_who_may_hand_over_may_make_a_link(world: World) -> None:
    guest = add_guest(world)
    for name in ("Kim Keeper", "Mona Manager"):
        browser = world.browser(name)
        assert browser.open(f"/guests/{guest}/own-phone").status == 404
    for name in ("Dora Desk", "Ines Instructor", "Lena Lead"):
        assert world.browser(name).open(f"/guests/{guest}/own-phone").status == 200
    desk = world.browser("Dora Desk")
    assert desk.open("/guests/987654/own-phone").status == 404
    page = desk.open(f"/guests/{guest}/own-phone")
    assert page.send("make_phone_link", surprise="1").status == 422
    to, pairs = page.form_fields("make_phone_link")
    for wrong in ("987654", "0"):
        sent = [(name, "z" * 32 if name == "key" else value) for name, value in pairs]
        assert desk.post(to.replace(str(guest), wrong), sent).status == 404
    screened(world, guest)
    assert desk.post(to, pairs).status == 422


def test_the_same_form_sent_twice_makes_one_link_and_shows_it_once(world: World) -> None:
    guest = add_guest(world)
    desk = world.browser("Dora Desk")
    to, pairs = desk.open(f"/guests/{guest}/own-phone").form_fields("make_phone_link")
    assert LINK.search(desk.post(to, pairs).text)
    again = desk.post(to, pairs)
    assert to in again.url and not LINK.search(again.text)
    assert whole_store(world.house)["phone_link"].count("Dora Desk") == 1


def test_somebody_of_the_team_cannot_start_it_on_a_signed_in_tablet(world: World) -> None:
    guest = add_guest(world)
    desk = world.browser("Dora Desk")
    link = make(world, guest, desk)
    page = desk.open(link)
    assert "You are signed in here" in page.words() and not page.forms("start_on_phone")
    token = desk.open("/today").find("input", name="token")[0].get("value", "")
    assert "You are signed in here" in desk.post(link, {"key": "k" * 32, "token": token}).words()
    begin(world, link)
    assert desk.open("/today").url.endswith("/today")


def test_in_a_phone_visit_every_other_address_is_the_same_plain_page(world: World) -> None:
    guest, other = add_guest(world), add_guest(world, "Otto")
    others = make(world, other)
    phone = begin(world, make(world, guest))
    token = phone.open("/guest").find("input", name="token")[0].get("value", "")
    seen = set()
    for row in route_table():
        if GUEST in row["roles"] or row["action"] == "static":
            continue
        for number in (str(guest), str(other), "987654"):
            path = re.sub(r"\{[^}]*\}", number, row["path"])
            if row["method"] == "GET":
                page = phone.open(path, follow=False)
            else:
                page = phone.post(path, {"key": f"{len(seen)}{'k' * 30}", "token": token}, follow=False)
            assert page.status == 404, (row["method"], path, page.status)
            seen.add(re.sub(r"\b[0-9a-f]{8}\b", "", page.text))
    for page in (phone.open(others), phone.open(f"/form/{'x' * 43}")):
        assert page.status == 404
        seen.add(re.sub(r"\b[0-9a-f]{8}\b", "", page.text))
    assert len(seen) == 1
    # The other guest's link was not used up.
    begin(world, others)


def test_after_twenty_unknown_links_an_address_waits_and_others_do_not(world: World) -> None:
    guest = add_guest(world)
    link = make(world, guest)
    phone = world.browser()
    for number in range(20):
        page = phone.open(f"/form/{number:043d}x")
        assert page.status == 404 and DEAD in page.words()
    page = phone.open(link)
    assert page.status == 429 and 3500 < int(page.headers["retry-after"]) <= 3600
    world.clock.pass_minutes(61)
    begin(world, link)


def test_what_stands_in_a_link_is_nowhere_else(world: World, caplog: pytest.LogCaptureFixture) -> None:
    guest = add_guest(world)
    with caplog.at_level(logging.DEBUG):
        link = make(world, guest)
        phone = begin(world, link)
        phone.open(link)
        world.browser().open(link)
        sign(answer_all(to_questions(phone)))
    token = link.rpartition("/")[2]
    assert "route=/form/{token}" in caplog.text
    # The test's own browser logs what it asks for; the program's loggers are looked at.
    ours = [record.getMessage() for record in caplog.records if not record.name.startswith("http")]
    assert ours and not any(token in line for line in ours)
    assert token not in repr(whole_store(world.house))
