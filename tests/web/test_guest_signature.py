"""Signatures drawn beside the typed name, and what a child answers alone."""

from datetime import timedelta

import pytest
from sqlmodel import select

from app.records.tables.health import ConsentRow, HealthFormRow
from app.records.tables.house import UsedKeyRow
from app.records.tables.parties import SlotRow
from app.rules.drawn_signature import MOST_POINTS
from tests.health_world import (
    TEEN,
    add_guest,
    alone,
    answer,
    answer_all,
    code_on,
    group_with,
    hand_over,
    sign,
    stands,
    to_questions,
)
from tests.web_world import Page, World, whole_store

SVG = "{http://www.w3.org/2000/svg}svg"
STROKES = "10,20 30,40 50,60 70,80|90,20 120,160"
PATH = "M10 20L30 40L50 60L70 80M90 20L120 160"


def review_of(world: World, guest: int, **said: str) -> Page:
    """Let a guest answer on a handed-over tablet; return the page with the signature."""
    return answer_all(to_questions(hand_over(world, guest)), **said)


def drawings(page: Page) -> list[str]:
    """Return the paths of the drawn signatures on a page."""
    found = [one for one in page.find(SVG) if "signature" in one.get("class", "")]
    return [path.get("d", "") for one in found for path in one]


def test_a_drawing_is_sealed_and_shown_behind_a_logged_look(world: World) -> None:
    guest = add_guest(world, born=TEEN)
    page = review_of(world, guest)
    sheet = page.find("canvas")[0]
    assert sheet.get("aria-label") == "Room to draw your signature"
    page = page.send("sign_form", agree="yes", signed_name="Gwen Guest", drawing=STROKES)
    page = page.send(
        "sign_guardian", name="Parent Guest", relation="parent", phone="555 0777", place="on site",
        id_seen="no", rights="yes", agree="yes", agree_health="yes", drawing="1,1 2,2 3,3 4,4",
    )  # fmt: skip
    assert page.url.endswith("/guest/done")
    stored = repr(whole_store(world.house))
    assert "10,20" not in stored and "1,1 2,2" not in stored
    keeper = world.browser("Kim Keeper").open(f"/guests/{guest}/health").send("look_at_reasons", why="letter")
    assert drawings(keeper) == [PATH, "M1 1L2 2L3 3L4 4"]
    assert "Parent Guest" in keeper.words() and "Gwen Guest" in keeper.words()
    group_with(world, "Ines Instructor", guest)
    ines = world.browser("Ines Instructor")
    shown = ines.open(f"/guests/{guest}/emergency").send("emergency_look", why="now")
    assert drawings(shown) == [PATH, "M1 1L2 2L3 3L4 4"]
    # Reasons alone show an instructor no signature.
    assert not drawings(ines.open(f"/guests/{guest}/health").send("look_at_reasons", why="talk"))


def test_a_typed_name_signs_without_a_drawing(world: World) -> None:
    guest = add_guest(world)
    sign(review_of(world, guest))
    with world.house.store.reading() as session:
        assert [one.drawing for one in session.exec(select(HealthFormRow))] == [""]
    keeper = world.browser("Kim Keeper").open(f"/guests/{guest}/health").send("look_at_reasons", why="asked")
    assert drawings(keeper) == [] and "Gwen Guest" in keeper.words()


@pytest.mark.parametrize(
    "drawing",
    ['<svg onload="x">', "10,20 30,40 50,60 999,80", " ".join(["1,1"] * (MOST_POINTS + 1)), "9" * 30_000],
)
def test_a_drawing_that_no_page_of_ours_sends_is_refused(world: World, drawing: str) -> None:
    guest = add_guest(world)
    refused = review_of(world, guest).send(
        "sign_form", agree="yes", signed_name="Gwen Guest", drawing=drawing
    )
    assert refused.status == 422 and refused.find("div", id="wrong-drawing")
    assert refused.find("input", name="signed_name")[0].get("value") == "Gwen Guest"
    assert refused.find("input", name="drawing")[0].get("value") == ""
    assert not stands(world, guest).settled
    assert refused.send("sign_form", agree="yes").url.endswith("/guest/done")


def test_change_on_the_review_comes_back_to_it(world: World) -> None:
    guest = add_guest(world)
    review = review_of(world, guest)
    changes = [a.get("href", "") for a in review.find("a") if "/guest/questions/" in a.get("href", "")]
    assert len(changes) == 17
    page = review.browser.open(changes[4])
    assert "Your answer so far: No" in page.words()
    back = answer(page, "N")
    assert back.url.endswith("/guest/review")
    # A Yes opens its follow-ups, and only those are asked before the review comes back.
    page = answer(back.browser.open(changes[0]), "Y")
    asked = []
    while "/guest/questions/" in page.url:
        asked.append(code_on(page))
        assert "More about question 1 of 17" in page.words()
        page = answer(page, "N")
    assert asked == ["LUNG.a", "LUNG.b", "LUNG.c", "LUNG.d", "LUNG.e"]
    assert page.url.endswith("/guest/review") and len(page.find("dt")) == 22


def test_a_child_is_asked_alone_and_whoever_reads_along_learns_nothing(world: World) -> None:
    guest = add_guest(world, born=TEEN)
    tablet = hand_over(world, guest)
    page = to_questions(tablet)
    pages_alone, totals = 0, set()
    while "/guest/questions/" in page.url:
        if "for you alone" in page.words():
            pages_alone += 1
            assert "pregnant" not in page.text and "pushing you" not in page.text
            assert {"/guest/not-today"} <= {a.get("href") for a in page.find("a")}
            page = alone(page)
        totals.add(page.find("title")[0].text)
        page = answer(page, "Y" if code_on(page) == "BABY" else "N")
    # Two questions of the history part are private with their follow-ups, one of the day's part.
    assert pages_alone == 4
    assert {one.rpartition(" of ")[2].split(" ")[0] for one in totals if one} == {"17"}
    assert page.words().count("Answered, for you only") == 2
    assert "might be, pregnant" not in page.text and "in the last 3 months" not in page.text
    place = next(
        a.get("href", "")
        for row in page.find("div")
        if "pregnant" in "".join(row.itertext()) and row.find("dt") is not None
        for a in row.iter("a")
    )
    shown = tablet.open(place)
    assert "for you alone" in shown.words()
    shown = alone(shown)
    assert code_on(shown) == "BABY" and "Your answer so far" not in shown.words()
    # The way back to the follow-ups leads through their question: they are not on the review.
    shown = alone(answer(shown, "Y"))
    assert code_on(shown) == "BABY.a"
    shown = alone(answer(shown, "N"))
    assert code_on(shown) == "BABY.b"
    assert answer(shown, "N").url.endswith("/guest/review")


def test_where_an_answer_led_is_kept_alike_for_every_answer(world: World) -> None:
    review_of(world, add_guest(world, born=TEEN), BABY="Y", LUNG="Y")
    with world.house.store.reading() as session:
        led = {one.answer for one in session.exec(select(UsedKeyRow)) if "questions" in one.answer}
    assert led == {"/guest/questions"}


def test_before_the_day_nobody_agrees_to_the_dive(world: World) -> None:
    guest = add_guest(world)
    with world.act() as act:
        slot = act.get(SlotRow, 1)
        act.edit(slot, None, {"day": slot.day + timedelta(days=1)}, {})
    review = review_of(world, guest)
    assert "I want to dive" not in review.words()
    sign(review)
    with world.house.store.reading() as session:
        assert [one.kind for one in session.exec(select(ConsentRow))] == ["health-data"]
    world.clock.pass_minutes(24 * 60)
    tablet = hand_over(world, guest)
    review = answer_all(tablet.open("/guest").send("begin_form"))
    assert "I want to dive today" in review.words()
    sign(review)
    assert stands(world, guest, slot.day).outcome == "CLEARED"


def test_a_touch_keeps_the_visit_and_is_for_guests_alone(world: World) -> None:
    guest = add_guest(world)
    tablet = hand_over(world, guest)
    for _ in range(4):
        world.clock.pass_minutes(2)
        touched = tablet.open("/guest/here")
        assert touched.status == 204 and touched.text == ""
    assert tablet.open("/guest").url.endswith("/guest")
    world.clock.pass_minutes(3.1)
    assert tablet.open("/guest/here").url.endswith("/guest/done")
    assert world.browser("Dora Desk").open("/guest/here").status == 404
