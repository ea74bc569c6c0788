"""The handed-over tablet: one guest, one form, nothing else."""

import re
from datetime import date

import pytest

from app.records.guest_side.languages import shipped_words
from app.records.tables.parties import SlotRow
from app.rules.consents import HEALTH_DATA
from app.web.access import GUEST
from app.web.route_table import route_table
from tests.health_world import (
    TEEN,
    add_guest,
    answer,
    answer_all,
    code_on,
    hand_over,
    screened,
    sign,
    sign_guardian,
    stands,
    to_questions,
)
from tests.web_world import World


def test_a_guest_goes_from_the_welcome_to_the_empty_page(world: World) -> None:
    guest = add_guest(world)
    assert stands(world, guest).word == "Not asked yet"
    tablet = hand_over(world, guest)
    page = tablet.open("/guest")
    assert "Hello Gwen" in page.words() and "Guest" not in page.words().replace("Gwen", "")
    consent = tablet.open("/guest/consent")
    refused = consent.send("agree_health_data")
    assert refused.status == 422 and "Enter your name." in refused.words()
    page = refused.send("agree_health_data", agree="yes", signed_name="Gwen Guest")
    assert page.url.endswith("/guest/questions/1") and "Question 1 of 17" in page.words()
    assert "Your answer so far" not in page.words()
    review = answer_all(page)
    assert review.url.endswith("/guest/review")
    assert stands(world, guest).outcome == "INCOMPLETE"
    unsigned = tablet.open("/guest/sign").send("sign_form", signed_name="")
    assert unsigned.status == 422 and "Choose one of the two buttons." in unsigned.words()
    done = sign(review)
    assert done.url.endswith("/guest/done") and "Give the tablet back" in done.words()
    assert "Gwen" not in done.text
    found = stands(world, guest)
    assert (found.outcome, found.word, found.settled) == ("CLEARED", "Ready (for today)", True)


def test_in_a_guests_hands_every_other_address_is_the_same_plain_page(world: World) -> None:
    guest, other = add_guest(world), add_guest(world, "Otto")
    tablet = hand_over(world, guest)
    token = tablet.open("/guest").find("input", name="token")[0].get("value", "")
    seen = set()
    for row in route_table():
        if GUEST in row["roles"] or row["action"] == "static":
            continue
        for number in (str(guest), str(other), "987654"):
            path = re.sub(r"\{[^}]*\}", number, row["path"])
            if row["method"] == "GET":
                page = tablet.open(path, follow=False)
            else:
                page = tablet.post(path, {"key": f"{len(seen)}{'k' * 30}", "token": token}, follow=False)
                assert page.status == 404, (path, page.status)
                page = tablet.post(path, {"key": "k" * 32, "token": "forged"}, follow=False)
            assert page.status == 404, (row["method"], path, page.status)
            seen.add(re.sub(r"\b[0-9a-f]{8}\b", "", page.text))
    for path in ("/nowhere", "/guest/nowhere", "/guests", "/guest/questions/x"):
        page = tablet.open(path, follow=False)
        assert page.status == 404
        seen.add(re.sub(r"\b[0-9a-f]{8}\b", "", page.text))
    page = tablet.post("/today", {"key": "k" * 32, "token": token}, follow=False)
    assert page.status == 404
    seen.add(re.sub(r"\b[0-9a-f]{8}\b", "", page.text))
    assert len(seen) == 1
    plain = seen.pop()
    assert not re.search("Gwen|Otto|Dora|Harbour", plain) and "<nav" not in plain
    assert 'href="/guest"' in plain


def test_what_goes_wrong_is_said_in_the_guests_own_language(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    tablet = hand_over(world, add_guest(world))
    page = tablet.open("/guest").send("choose_language", language="ar")
    to, pairs = page.form_fields("choose_language")
    forged = [(name, "x" if name == "token" else value) for name, value in pairs]
    answers = {
        "This page is not here": (404, tablet.open("/today")),
        "This was not stored": (403, tablet.post(to, forged)),
        "That is too much to send": (413, tablet.post(to, [*pairs, ("more", "x" * 400_000)])),
    }
    monkeypatch.setattr("app.web.guest_side.form.own_form", None)
    words = shipped_words("ar").gettext
    broken = tablet.client.get("/guest")
    assert broken.status_code == 500 and words("Something went wrong here") in broken.text
    for title, (status, said) in answers.items():
        assert said.status == status and words(title) in said.words(), title
        assert said.root.get("lang") == "ar" and said.root.get("dir") == "rtl"


def test_idle_minutes_end_in_the_guests_own_language(world: World) -> None:
    tablet = hand_over(world, add_guest(world))
    tablet.open("/guest").send("choose_language", language="ar")
    world.clock.pass_minutes(3.1)
    gone = tablet.open("/guest/consent")
    assert gone.url.endswith("/guest/done?in=ar") and "Gwen" not in gone.text
    assert gone.root.get("lang") == "ar" and shipped_words("ar").gettext("Thank you") in gone.words()


def test_handing_over_kills_the_staff_cookie_at_once(world: World) -> None:
    guest = add_guest(world)
    tablet = world.browser("Dora Desk")
    old = dict(tablet.client.cookies)
    tablet.open(f"/guests/{guest}/health").send("hand_over")
    thief = world.browser()
    thief.client.cookies.update(old)
    assert thief.open("/today").url.endswith("/sign-in")
    assert tablet.open("/today").status == 404


def test_a_double_tap_on_hand_over_leads_to_the_form_and_a_second_tablet_ends_the_first(world: World) -> None:
    guest = add_guest(world)
    tablet = world.browser("Dora Desk")
    to, pairs = tablet.open(f"/guests/{guest}/health").form_fields("hand_over")
    assert tablet.post(to, pairs).url.endswith("/guest")
    assert tablet.post(to, pairs).url.endswith("/guest")
    second = hand_over(world, guest, "Ines Instructor")
    assert second.open("/guest").url.endswith("/guest")
    assert tablet.open("/guest").url.endswith("/guest/done")


def test_only_desk_and_instructor_hand_over_and_only_booked_guests(world: World) -> None:
    guest = add_guest(world)
    for name in ("Kim Keeper", "Mona Manager"):
        page = world.browser(name).open(f"/guests/{guest}/health")
        assert page.status == 200 and not page.forms("hand_over")
        token = page.find("input", name="token")[0].get("value", "")
        assert (
            page.browser.post(f"/guests/{guest}/hand-over", {"key": "k" * 32, "token": token}).status == 404
        )
    desk = world.browser("Dora Desk")
    token = desk.open("/today").find("input", name="token")[0].get("value", "")
    assert desk.post("/guests/987654/hand-over", {"key": "k" * 32, "token": token}).status == 404
    assert desk.open("/today").url.endswith("/today")
    extra = desk.open(f"/guests/{guest}/health").send("hand_over", surprise="1")
    assert extra.url.endswith("/health")


def test_three_idle_minutes_end_the_visit_and_staff_sign_in_again(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    world.clock.pass_minutes(2.9)
    page = to_questions(tablet)
    world.clock.pass_minutes(2.9)
    page = answer(page, "N")
    assert page.url.endswith("/guest/questions/2")
    world.clock.pass_minutes(3.1)
    gone = answer(page, "Y")
    assert gone.url.endswith("/guest/done") and "Gwen" not in gone.text
    assert tablet.open("/guest/questions/1").url.endswith("/guest/done")
    assert "/today" in tablet.sign_in("Dora Desk").url
    back = tablet.open(f"/guests/{guest}/health").send("hand_over")
    page = tablet.open("/guest/questions")
    assert back.url.endswith("/guest") and page.url.endswith("/guest/questions/2")


def test_unsigned_answers_wait_for_the_day_only(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    answer(to_questions(tablet), "Y")
    tablet.open("/guest").send("hand_back")
    tablet = hand_over(world, guest)
    page = tablet.open("/guest/questions/1")
    assert "Your answer so far: Yes" in page.words()
    with world.act() as act:
        slot = act.get(SlotRow, 1)
        act.edit(slot, None, {"day": slot.day.replace(day=16)}, {})
    world.clock.pass_minutes(24 * 60)
    tablet = hand_over(world, guest)
    page = tablet.open("/guest").send("begin_form")
    assert page.url.endswith("/guest/questions/1") and "Your answer so far" not in page.words()


def test_back_after_signing_shows_nothing(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    page = to_questions(tablet)
    second = answer(page, "N")
    answer_all(second)
    review = tablet.open("/guest/review")
    assert review.headers["cache-control"] == "no-store"
    old = dict(tablet.client.cookies)
    sign(review)
    for path in ("/guest", "/guest/review", "/guest/questions/1", "/guest/sign", "/guest/consent"):
        assert tablet.open(path).url.endswith("/guest/done"), path
    kept = world.browser()
    kept.client.cookies.update(old)
    for path in ("/guest", "/guest/review", "/guest/questions/1"):
        assert kept.open(path).url.endswith("/guest/done"), path
    to, pairs = second.form_fields("answer_question")
    fields = {**dict(pairs), "key": "z" * 32, "answer": "yes"}
    assert kept.post(to, fields).url.endswith("/guest/done")
    assert stands(world, guest).outcome == "CLEARED"


def test_a_yes_changed_to_no_still_counts(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    page = to_questions(tablet)
    assert code_on(page) == "LUNG"
    answer(page, "Y")
    answer(tablet.open("/guest/questions/1"), "?")
    answer(tablet.open("/guest/questions/1"), "N")
    review = answer_all(tablet.open("/guest/questions"))
    assert "No (you said Yes before)" in review.words()
    sign(review)
    assert stands(world, guest).outcome == "TALK"
    tablet = hand_over(world, guest)
    review = answer_all(tablet.open("/guest").send("begin_form"))
    assert len(review.find("dt")) == 5
    page = review.send("history_again")
    sign(answer_all(page))
    assert [str(one) for one in stands(world, guest).reasons] == ["LUNG/T"]


def test_follow_ups_open_and_hours_are_asked_for(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    page = to_questions(tablet)
    while code_on(page) != "TRIP":
        page = answer(page, "N")
    page = answer(page, "Y")
    assert code_on(page) == "TRIP.a" and page.find("input", name="hours")
    refused = answer(page, "Y")
    assert refused.status == 422 and "Enter how many hours" in refused.words()
    refused = answer(refused, "Y", "soon")
    assert refused.status == 422 and refused.find("input", name="hours")[0].get("value") == "soon"
    page = answer(refused, "Y", "20 h")
    review = answer_all(page)
    assert "Yes, 20 h after the dive" in review.words()
    sign(review)
    assert [str(one) for one in stands(world, guest).reasons] == ["FLY/T"]


def test_an_answer_is_stored_only_for_the_question_that_was_shown(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    first = to_questions(tablet)
    second = answer(first, "N")
    assert code_on(second) == "HART"
    answer(tablet.open("/guest/questions/1"), "Y")
    refused = answer(second, "Y")
    assert refused.status == 422 and code_on(refused) == "LUNG.a" and "changed meanwhile" in refused.words()
    for wrong in ("maybe", "Y>Nok", ""):
        assert refused.send("answer_question", answer=wrong).status == 422
    assert refused.send("answer_question", answer="no", code="HART").status == 422
    review = answer_all(tablet.open("/guest/questions"))
    sign(review)
    assert [str(one) for one in stands(world, guest).reasons] == ["LUNG/T"]


def test_steps_are_not_skipped(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    for path in ("/guest/questions", "/guest/questions/1", "/guest/review", "/guest/sign"):
        assert tablet.open(path).url.endswith("/guest"), path
    token = tablet.open("/guest").find("input", name="token")[0].get("value", "")

    def post(path: str, number: int, **fields: str) -> int:
        return tablet.post(path, {"key": f"{number}" * 32, "token": token, **fields}, follow=False).status

    assert post("/guest/begin", 1) == 404
    assert post("/guest/questions/1", 2, answer="no", mark="x") == 404
    assert post("/guest/sign", 3, agree="yes", signed_name="Gwen") == 404
    assert post("/guest/guardian", 4) == 404
    to_questions(tablet)
    assert tablet.open("/guest/sign").url.endswith("/guest/questions/1")
    assert tablet.open("/guest/questions/9").url.endswith("/guest/questions/1")
    assert tablet.open("/guest/questions/0").url.endswith("/guest/questions/1")
    assert stands(world, guest).outcome == "INCOMPLETE"


def test_refusing_the_consent_stores_no_answer(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    page = tablet.open("/guest/consent").send("refuse_health_data")
    assert page.url.endswith("/guest/done")
    found = stands(world, guest)
    assert (found.outcome, found.settled) == ("INCOMPLETE", False)
    screened(world, guest)
    assert stands(world, guest).settled
    tablet = hand_over(world, guest)
    tablet.open("/guest/consent").send("refuse_health_data")
    assert stands(world, guest).outcome == "INCOMPLETE" and not stands(world, guest).settled


def test_the_guests_own_wish_always_wins_and_asks_nothing(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    assert "/guest/not-today" in {a.get("href") for a in tablet.open("/guest").find("a")}
    page = tablet.open("/guest/not-today").send("rather_not_dive")
    assert page.url.endswith("/guest/done")
    assert (stands(world, guest).word, stands(world, guest).settled) == ("Not today", False)
    screened(world, guest)
    assert stands(world, guest).word == "Not today"


def test_a_minor_signs_and_then_the_guardian(world: World) -> None:
    guest = add_guest(world, born=TEEN)
    tablet = hand_over(world, guest)
    review = answer_all(to_questions(tablet))
    assert "Answered, for you only" in review.words()
    page = sign(review)
    assert page.url.endswith("/guest/guardian")
    assert tablet.open("/guest/review").url.endswith("/guest")
    assert stands(world, guest).outcome == "INCOMPLETE"
    tablet.open("/guest").send("hand_back")
    tablet = hand_over(world, guest)
    page = tablet.open("/guest/guardian")
    # The guardian agrees to the use of the answers, and so reads who sees them, how long, and how to end it.
    assert all(line in page.words() for line in HEALTH_DATA.lines)
    refused = page.send("sign_guardian", name="Parent Guest", phone="555 0777")
    assert refused.status == 422 and "parental rights" in refused.words()
    assert refused.find("input", name="name")[0].get("value") == "Parent Guest"
    assert stands(world, guest).guardian_consent_on is None
    assert sign_guardian(refused, "poolside").url.endswith("/guest/done")
    found = stands(world, guest)
    assert found.outcome == "CLEARED" and found.guardian_place == "poolside"
    assert found.guardian_consent_on is not None and found.guardian_consent_until is not None
    assert (found.guardian_consent_until - found.guardian_consent_on).days == 30


def test_fresh_history_is_not_asked_again_the_next_day(world: World) -> None:
    guest = add_guest(world)
    screened(world, guest, LUNG="Y", DRNK="Y")
    assert stands(world, guest).outcome == "ASHORE"
    for moved, asks in ((date(2026, 7, 16), 5), (date(2026, 8, 14), 5), (date(2026, 8, 15), 17)):
        with world.act() as act:
            slot = act.get(SlotRow, 1)
            act.edit(slot, None, {"day": moved}, {})
        world.clock.at = world.clock.at.replace(month=moved.month, day=moved.day)
        assert not stands(world, guest, moved).settled
        page = hand_over(world, guest).open("/guest").send("begin_form")
        assert f"of {asks}" in page.words()
        if asks == 5:
            sign(answer_all(page))
            assert stands(world, guest, moved).outcome == "TALK"


def test_on_a_paired_tablet_the_guest_visit_belongs_to_it(world: World) -> None:
    guest = add_guest(world)
    manager = world.browser("Mona Manager")
    manager.open("/setup/devices").send("pair_device", name="Front desk tablet", kind="tablet")
    manager.open("/today").send("sign-out")
    assert "/today" in manager.sign_in("Dora Desk").url
    manager.open(f"/guests/{guest}/health").send("hand_over")
    assert manager.open("/guest").status == 200
    thief = world.browser()
    thief.client.cookies.set("daybuoy", manager.client.cookies["daybuoy"])
    assert thief.open("/guest").url.endswith("/guest/done")
