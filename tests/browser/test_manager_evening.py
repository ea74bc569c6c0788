"""The manager's evening by keyboard alone, and an incident in three taps and a line."""

from dataclasses import dataclass
from pathlib import Path
from zipfile import ZipFile

import pytest
from playwright.sync_api import Locator, Page, expect

from app.records.look_back.incidents import incidents_of
from app.records.setup.shop import closed_day
from tests.browser.hands import LAPTOP, PHONE, TABLET, NewContext, Person
from tests.browser.live import serving
from tests.web_ready import ready_group
from tests.web_world import DAY, World, make_world

MOST_TAPS = 3
# No page has more stops than this between its top and what is looked for.
MOST_TABS = 120


@dataclass
class Keys:
    """Somebody who never touches a mouse. Every page is gone through with Tab alone."""

    page: Page

    def reach(self, target: Locator) -> None:
        """Press Tab until this has the focus."""
        expect(target).to_have_count(1)
        for _ in range(MOST_TABS):
            if target.evaluate("one => one === document.activeElement"):
                expect(target).to_be_in_viewport()
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"Tab never reached {target} on {self.page.url}")

    def press(self, target: Locator, key: str = "Enter") -> None:
        """Reach a link, a button or a box, and press a key on it."""
        self.reach(target)
        self.page.keyboard.press(key)

    def write(self, target: Locator, words: str) -> None:
        """Reach a box and type."""
        self.reach(target)
        self.page.keyboard.type(words)


def day_done(folder: Path) -> World:
    """A shop whose one group has dived, is back, and has everything written down."""
    world = make_world(folder)
    ready = ready_group(world)
    ready.whole_dive()
    ready.page("/wrap").send("cylinders_back")
    return world


@pytest.mark.parametrize("scripts", [True, False])
def test_the_manager_reviews_writes_closes_and_exports_the_day_by_keyboard(
    tmp_path: Path, new_context: NewContext, scripts: bool
) -> None:
    world = day_done(tmp_path)
    with serving(world.house) as origin:
        page = new_context(viewport=LAPTOP).new_page()
        if not scripts:
            page.route("**/*.js", lambda route: route.abort())
        Person(page, origin, "Mona Manager").sign_in()
        keys = Keys(page)
        keys.press(page.get_by_role("link", name="Look back"))
        expect(page.locator("h1")).to_have_text("Look back")
        keys.press(page.get_by_role("link", name="Each diver and each fill"))
        expect(page.get_by_text("100 bar").first).to_be_visible()
        keys.press(page.get_by_role("link", name="Look back"))
        keys.press(page.get_by_role("link", name="Write an incident"))
        expect(page.get_by_label("What happened")).to_be_focused()
        page.keyboard.type("A guest sat down on the steps, pale.")
        keys.reach(page.get_by_label("Depth, gas, separation or technique"))
        for _ in range(3):
            page.keyboard.press("ArrowDown")
        expect(page.get_by_label("Injury or illness")).to_be_checked()
        keys.press(page.get_by_role("button", name="Serious"))
        expect(page.locator("#saved")).to_contain_text("Incident kept.")
        keys.press(page.get_by_role("button", name="I have read this"))
        expect(page.locator("#saved")).to_contain_text("Marked as read.")
        keys.press(page.get_by_role("link", name="Look back"))
        expect(page.locator("#close")).to_contain_text("3 went in, 3 came back.")
        keys.write(page.get_by_label("Anything to note for this day"), "A calm day.")
        keys.press(page.get_by_role("button", name="Close Wed 15 Jul"))
        expect(page.locator("#saved")).to_contain_text("The day is closed.")
        expect(page.locator("#amended")).to_contain_text("Its records are as they were sealed.")
        keys.press(page.get_by_role("link", name="Keep and share"))
        with page.expect_download() as saved:
            keys.press(page.locator("#days").get_by_role("button", name="Save as CSV"))
        with ZipFile(saved.value.path()) as packed:
            tables = [packed.read(one).decode("utf-8-sig") for one in packed.namelist()]
        assert any("A guest sat down on the steps, pale." in table for table in tables)
        with world.house.store.reading() as session:
            row = closed_day(session, DAY)
        assert row is not None and (row.note, row.persons_in, row.persons_back) == ("A calm day.", 3, 3)
    world.house.close()


@pytest.mark.parametrize("size", [PHONE, TABLET, LAPTOP])
def test_an_incident_is_three_taps_and_a_line(
    tmp_path: Path, new_context: NewContext, size: dict[str, int]
) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        page = new_context(viewport=size, has_touch=True).new_page()
        Person(page, origin, "Ines Instructor").sign_in()
        taps = 0
        for target in (
            page.get_by_role("link", name="Write down what happened"),
            page.locator("label", has_text="Equipment"),
            page.get_by_role("button", name="Near miss"),
        ):
            box = target.bounding_box()
            assert box is not None and box["height"] >= 44 - 0.5, box
            target.tap()
            taps += 1
            if taps == 1:
                # The line is typed without another tap: the page begins in its box.
                expect(page.get_by_label("What happened")).to_be_focused()
                page.keyboard.type("A hose leaked at the jetty.")
        expect(page.locator("#saved")).to_contain_text("Incident kept.")
        assert taps <= MOST_TAPS
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        with world.house.store.reading() as session:
            (one,) = incidents_of(session, DAY)
        assert (one.row.what, one.row.severity, one.row.category) == (
            "A hose leaked at the jetty.", "near-miss", "equipment",
        )  # fmt: skip
    world.house.close()
