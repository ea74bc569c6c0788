"""A guest's pages in a real browser: they leave nothing of the guest behind and nothing of the team open."""

from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser import story
from tests.browser.hands import NewContext
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
