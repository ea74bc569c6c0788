"""A guest with the form in hand: goes through it by what the buttons send, whatever language they speak."""

from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import BrowserContext, Locator, Page, expect

from app.actions.guest_side.hand_over import hand_over
from app.web.cookies import COOKIE
from tests.web_world import World

NAME = "Anouk Vale"
SMALLEST_TARGET = 44
# More than any form asks.
MOST_QUESTIONS = 90
Look = Callable[[Page], None]


def in_the_hands_of(world: World, origin: str, context: BrowserContext, guest_id: int) -> Page:
    """Return a tablet's window that was handed to a guest, on its first page."""
    with world.act() as act:
        token = hand_over(act, guest_id, None, None)
    context.add_cookies([{"name": COOKIE, "value": token, "url": origin}])
    page = context.new_page()
    page.goto(f"{origin}/guest")
    return page


@dataclass
class Guest:
    """Somebody at a guest's window. taps: links, buttons and choices touched; typed: boxes typed into."""

    page: Page
    taps: int = 0
    typed: int = 0
    look: Look = lambda _: None
    touch: bool = False

    def press(self, target: Locator) -> None:
        """Touch one thing, and wait for the page that it leads to."""
        expect(target).to_be_visible()
        if self.touch:
            box = target.bounding_box()
            assert box is not None and min(box["height"], box["width"]) >= SMALLEST_TARGET - 0.5, (
                target,
                box,
            )
        with self.page.expect_navigation():
            target.tap() if self.touch else target.click()
        self.taps += 1

    def type(self, name: str, words: str) -> None:
        """Type into one box."""
        self.page.locator(f'input[type="text"][name="{name}"]').fill(words)
        self.typed += 1

    def choose(self, name: str, value: str) -> None:
        """Choose one of several, or tick."""
        box = self.page.locator(f'input[name="{name}"][value="{value}"]')
        box.check()
        self.taps += 1

    def understand(self) -> None:
        """Say which checked language is understood, where the page asks."""
        if self.page.locator('input[name="understands"]').count():
            self.choose("understands", "en")

    def speak(self, code: str) -> None:
        """Choose a language on the first page."""
        self.look(self.page)
        self.press(self.page.locator(f'button[name="language"][value="{code}"]'))

    def agree(self) -> None:
        """Agree to the use of the answers."""
        self.look(self.page)
        self.understand()
        self.type("signed_name", NAME)
        self.press(self.page.locator('form[data-action="agree_health_data"] button[name="agree"]'))

    def answer_all(self, said: str = "no") -> None:
        """Answer every question alike."""
        for place in range(MOST_QUESTIONS):
            if "/guest/questions/" not in self.page.url:
                break
            if place == 0 or self.page.locator('a[href$="?alone=1"]').count():
                self.look(self.page)
            if self.page.locator('a[href$="?alone=1"]').count():
                self.press(self.page.locator('a[href$="?alone=1"]'))
            self.press(self.page.locator(f'button[name="answer"][value="{said}"]'))

    def sign(self) -> None:
        """Sign under the answers."""
        assert "/guest/review" in self.page.url, self.page.url
        self.look(self.page)
        self.understand()
        self.type("signed_name", NAME)
        self.press(self.page.locator('form[data-action="sign_form"] button[name="agree"]'))

    def fill_in(self, code: str = "en") -> None:
        """Go from the first page to the empty last one, answering No."""
        self.speak(code)
        self.agree()
        self.answer_all()
        self.sign()
        self.look(self.page)


def draw(page: Page) -> None:
    """Draw a line on the sheet for the signature."""
    sheet = page.locator("canvas")
    sheet.scroll_into_view_if_needed()
    box = sheet.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 20, box["y"] + 20)
    page.mouse.down()
    for step in range(1, 12):
        page.mouse.move(box["x"] + 20 + step * 12, box["y"] + 20 + (step % 3) * 15)
    page.mouse.up()
