"""A guest's pages in a real browser: they leave nothing of the guest behind and nothing of the team open."""

import re
from http import HTTPStatus
from pathlib import Path

from playwright.sync_api import Page, expect

from app.records.setup import visits
from app.web.sheets.codes import MARGIN
from tests.browser import story
from tests.browser.guest import Guest, in_the_hands_of
from tests.browser.hands import PHONE, TABLET, NewContext
from tests.browser.live import serving
from tests.groups_world import book
from tests.web_world import make_world

STEPS_BACK = 10
# What the pages of a guest hold and the empty last page must not.
OF_THE_GUEST = ("Anouk", "Vale", "Yes", "asthma", "Question ")


def test_back_after_signing_shows_nothing_of_the_guest(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        day = story.open_windows(world, origin, new_context)
        book(world, *story.GUESTS)
        story.fill_the_guest_form(day, "Anouk")
        for _ in range(STEPS_BACK):
            day.tablet.go_back()
            assert_nothing_of_the_guest(day.tablet)
        for _ in range(STEPS_BACK):
            day.tablet.go_forward()
            assert_nothing_of_the_guest(day.tablet)
        assert day.watch.wrong == []
    world.house.close()


def test_back_after_three_idle_minutes_shows_nothing_of_the_guest(
    tmp_path: Path, new_context: NewContext
) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        day = story.open_windows(world, origin, new_context)
        book(world, *story.GUESTS)
        story.hand_over(day, "Anouk")
        expect(day.tablet.locator("h1")).to_have_text("Hello Anouk")
        world.clock.pass_minutes(4)
        day.tablet.reload()
        assert_nothing_of_the_guest(day.tablet)
        day.tablet.go_back()
        assert_nothing_of_the_guest(day.tablet)
    world.house.close()


def test_the_tablet_in_a_guests_hands_opens_nothing_of_the_team(
    tmp_path: Path, new_context: NewContext
) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        day = story.open_windows(world, origin, new_context)
        bastian = book(world, *story.GUESTS)[1]
        story.hand_over(day, "Anouk")
        for path in (
            "/today",
            "/welcome",
            f"/guests/{bastian}/health",
            "/search?q=Bastian",
            "/setup",
            "/water/1",
        ):
            answer = day.tablet.goto(f"{origin}{path}")
            assert answer is not None
            text = day.tablet.locator("body").inner_text()
            assert "Bastian" not in text and not day.tablet.locator("nav.menu").count(), path
        assert stored_in_the_browser(day.tablet) == []
    world.house.close()


def test_three_minutes_without_a_touch_empty_the_page_and_end_the_visit(
    tmp_path: Path, new_context: NewContext
) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        page = in_the_hands_of(world, origin, new_context(viewport=TABLET), book(world, *story.GUESTS)[0])
        guest = Guest(page)
        # The tablet's clock runs apart from the shop's, which stands still here: the page itself counts.
        page.clock.install()
        guest.speak("en")
        guest.agree()
        page.clock.fast_forward("02:50")
        expect(page.locator('button[name="answer"]')).to_have_count(3)
        page.clock.fast_forward("00:15")
        expect(page.locator("h1")).to_have_text("Thank you")
        assert_nothing_of_the_guest(page)
        for _ in range(3):
            page.go_back()
            assert_nothing_of_the_guest(page)
        with world.house.store.reading() as session:
            assert visits.guest_visits(session, 1) == []
    world.house.close()


def test_whoever_reads_for_long_and_touches_the_page_stays(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        page = in_the_hands_of(world, origin, new_context(viewport=TABLET), book(world, *story.GUESTS)[0])
        page.clock.install()
        page.goto(f"{origin}/guest/consent")
        for _ in range(3):
            world.clock.pass_minutes(2)
            page.clock.fast_forward("02:00")
            with page.expect_response(lambda answer: answer.url.endswith("/guest/here")) as here:
                page.locator("h1").click()
            assert here.value.status == HTTPStatus.NO_CONTENT
        page.reload()
        expect(page.locator("h1")).to_have_text("Your health answers")
        # Once the shop's clock has ended the visit, a touch leads to the empty page.
        world.clock.pass_minutes(4)
        page.clock.fast_forward("00:30")
        page.locator("h1").click()
        expect(page.locator("h1")).to_have_text("Thank you")
    world.house.close()


def test_a_form_on_the_guests_own_phone(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        day = story.open_windows(world, origin, new_context)
        anouk, bastian = book(world, *story.GUESTS)
        link, other = (make_a_link(day, one) for one in (anouk, bastian))
        phone = new_context(viewport=PHONE, has_touch=True, is_mobile=True).new_page()
        day.watch.over(phone)
        said: list[str] = []
        phone.on("request", lambda request: said.append(request.all_headers().get("referer", "")))
        phone.goto(link)
        assert_nothing_of_the_guest(phone)
        guest = Guest(phone, touch=True)
        guest.press(phone.get_by_role("button", name="Start"))
        expect(phone.locator("h1")).to_have_text("Hello Anouk")
        assert any(said) and not any("/form/" in one for one in said), said
        # Put away and opened again by the code, the form is where it was.
        guest.speak("en")
        guest.agree()
        phone.goto(link)
        expect(phone.locator("h1")).to_have_text("Hello Anouk")
        answer = phone.goto(other)
        assert answer is not None and answer.status == HTTPStatus.NOT_FOUND
        phone.goto(f"{origin}/guest/questions")
        guest.answer_all()
        assert "new link from the shop" in phone.locator("main").inner_text()
        guest.sign()
        expect(phone.locator("h1")).to_have_text("Thank you")
        for _ in range(STEPS_BACK):
            phone.go_back()
            assert_nothing_of_the_guest(phone)
        phone.goto(link)
        expect(phone.locator("h1")).to_have_text("This link does not open a form any more")
        assert day.watch.wrong == []
    world.house.close()


def make_a_link(day: story.Day, guest_id: int) -> str:
    """Make a link at the desk; the code on the page is black on white with its quiet margin."""
    day.desk.go(f"/guests/{guest_id}/health")
    day.desk.follow("Send the form to the guest’s own phone")
    day.desk.send("make_phone_link")
    code = day.tablet.locator("svg.qr")
    assert [code.locator(part).get_attribute("fill") for part in ("rect", "path")] == ["#fff", "#000"]
    modules = re.findall(r"M(\d+) (\d+)", code.locator("path").get_attribute("d") or "")
    assert min(int(x) for x, _ in modules) == min(int(y) for _, y in modules) == MARGIN
    return day.tablet.locator(".phone-code .link").inner_text()


def assert_nothing_of_the_guest(page: Page) -> None:
    """The page, its title and the browser's own storage hold nothing of a guest."""
    # A page brought back from the browser's memory reloads itself at once.
    page.wait_for_load_state("networkidle")
    text = page.locator("body").inner_text() + page.title()
    found = [words for words in OF_THE_GUEST if words in text]
    assert not found, f"{page.url} shows {found}: {text[:300]}"
    assert stored_in_the_browser(page) == []


def stored_in_the_browser(page: Page) -> list[str]:
    """Return the names of everything that pages keep in the browser, besides cookies."""
    kept: list[str] = page.evaluate(
        """async () => [...Object.keys(localStorage), ...Object.keys(sessionStorage),
           ...(await indexedDB.databases()).map((one) => one.name)]"""
    )
    return kept
