"""Twelve cylinders filled and written down from a phone: few taps, each on something large enough."""

from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Locator, Page, expect
from sqlmodel import select

from app.records.tables.cylinders import FillRow
from tests.browser.hands import PHONE, NewContext, Person
from tests.browser.live import serving
from tests.gas_world import stock
from tests.web_world import make_world

MOST_TAPS = 30
# The whole gas room with 24 cylinders: three phones high and a little.
LONGEST_PAGE = 2400
SMALLEST_TARGET, SMALLEST_MAIN = 44, 56
BATCH = 12


@dataclass
class Finger:
    """Taps what is on the phone's page and counts: every tap, and every key of the phone's keypad."""

    page: Page
    taps: int = 0

    def tap(self, target: Locator) -> None:
        """Tap one thing, which must be large enough for a finger."""
        expect(target).to_be_visible()
        box = target.bounding_box()
        assert box is not None and box["height"] >= SMALLEST_TARGET - 0.5, (target, box)
        target.tap()
        self.taps += 1

    def type(self, label: str, digits: str) -> None:
        """Tap a box and type on the keypad."""
        box = self.page.get_by_label(label)
        self.tap(box)
        box.press_sequentially(digits)
        self.taps += len(digits)
        expect(box).to_have_value(digits)


def test_twelve_cylinders_from_today_in_at_most_thirty_taps(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    stock(world, 24)
    with serving(world.house) as origin:
        page = new_context(viewport=PHONE, has_touch=True, is_mobile=True).new_page()
        Person(page, origin, "Ines Instructor").sign_in()
        finger = Finger(page)
        finger.tap(page.get_by_role("link", name="Gas room").first)
        expect(page.locator("ul.stock > li")).to_have_count(24)
        assert page.evaluate("document.documentElement.scrollHeight") <= LONGEST_PAGE
        finger.tap(page.get_by_role("link", name="Write down fills"))
        for number in range(1, BATCH + 1):
            finger.tap(page.locator(f'label[for="f-pick-{number}"]'))
        finger.type("End pressure (bar)", "205")
        finger.type("Gas temperature", "38")
        finger.type("Carbon monoxide of this batch", "1")
        send = page.get_by_role("button", name="Write down these fills")
        box = send.bounding_box()
        assert box is not None and box["height"] >= SMALLEST_MAIN
        # The main action stays in sight at the bottom of the phone.
        assert box["y"] + box["height"] <= PHONE["height"]
        finger.tap(send)
        expect(page.locator("h1")).to_have_text(f"{BATCH} cylinders filled")
        assert finger.taps <= MOST_TAPS
        again = Finger(page)
        again.tap(page.get_by_role("link", name="Same again"))
        expect(page.locator("input[name=pick]:checked")).to_have_count(BATCH)
        world.clock.pass_minutes(1)
        again.taps = 0
        again.tap(page.get_by_role("link", name="Gas room").first)
        again.tap(page.get_by_role("link", name="Write down fills"))
        again.tap(page.get_by_role("link", name=f"Tick all {BATCH} that are not full"))
        again.type("End pressure (bar)", "205")
        again.type("Gas temperature", "38")
        again.type("Carbon monoxide of this batch", "1")
        again.tap(page.get_by_role("button", name="Write down these fills"))
        expect(page.locator("h1")).to_have_text(f"{BATCH} cylinders filled")
        assert again.taps <= MOST_TAPS / 2
    with world.house.store.reading() as session:
        assert len(session.exec(select(FillRow)).all()) == 2 * BATCH
    world.house.close()
