"""A person at a real browser window: opens pages, fills forms in, presses buttons, and signs in again."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import BrowserContext, ConsoleMessage, Locator, Page, Request, ViewportSize, expect

from tests.web_world import PASSPHRASE

PHONE: ViewportSize = {"width": 360, "height": 740}
TABLET: ViewportSize = {"width": 820, "height": 1180}
LAPTOP: ViewportSize = {"width": 1280, "height": 800}
NewContext = Callable[..., BrowserContext]


@dataclass
class Watch:
    """What a window must never do, as it happened: errors in the console, requests to anywhere else.

    asked: every request, for whoever counts them.
    """

    origin: str
    wrong: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def over(self, page: Page) -> None:
        """Watch one window from now on."""
        page.on("console", self._said)
        page.on("pageerror", lambda error: self.wrong.append(f"{page.url}: {error}"))
        page.on("request", self._asked)

    def _said(self, message: ConsoleMessage) -> None:
        # Chromium also reports answers like 422 here; whether they were meant is for the test to say.
        if message.type == "error" and "the server responded with a status of 4" not in message.text:
            self.wrong.append(f"{message.location.get('url')}: {message.text}")

    def _asked(self, request: Request) -> None:
        self.asked.append(request.url)
        if not request.url.startswith((f"{self.origin}/", "data:", "about:")):
            self.wrong.append(f"asked {request.url}")


@dataclass
class Person:
    """Somebody of the team at a window of their own."""

    page: Page
    origin: str
    name: str = ""
    secret: str = PASSPHRASE

    def sign_in(self) -> None:
        """Sign in at the page that asks for it."""
        self.page.goto(f"{self.origin}/sign-in")
        self.send("sign_in", name=self.name, secret=self.secret)
        assert "/today" in self.page.url, self.words()

    def go(self, path: str) -> None:
        """Open an address; a sign-in that lapsed meanwhile is done again."""
        self.page.goto(f"{self.origin}{path}")
        if "/sign-in" in self.page.url:
            self.sign_in()
            self.page.goto(f"{self.origin}{path}")

    def follow(self, link: str) -> None:
        """Click the one link of this name."""
        self.page.get_by_role("link", name=link).first.click()

    def form(self, action: str, at: str | None = None) -> Locator:
        """Return the one form of this action (and address, where several have the action)."""
        address = f'[action="{at}"]' if at else ""
        return self.page.locator(f'form[data-action="{action}"]{address}')

    def send(self, action: str, at: str | None = None, press: str | None = None, **fields: Any) -> None:
        """Fill a form in, press its button, and wait until the page that answers is there."""
        self.send_in(self.form(action, at), press, **fields)

    def send_in(self, form: Locator, press: str | None = None, **fields: Any) -> None:
        """Like ``send``, for a form already found."""
        expect(form).to_have_count(1)
        key = form.locator("input[name=key]").input_value()
        for name, value in fields.items():
            self._fill(form, name, value)
        button = form.get_by_role("button", name=press) if press else form.locator("button[type=submit]")
        unfold(button.first)
        button.first.click()
        # Every page deals new one-use keys, so the old one is gone when the answer has come.
        expect(self.page.locator(f'input[name=key][value="{key}"]')).to_have_count(0)
        # At the water a form goes through the phone's own outbox first.
        expect(self.page.locator('#outbox[data-waiting]:not([data-waiting="0"])')).to_have_count(0)
        expect(self.page.locator("h1")).to_have_count(1)

    def done(self, action: str, at: str | None = None, press: str | None = None, **fields: Any) -> None:
        """Send a form that is expected to be carried out."""
        self.done_in(self.form(action, at), press, **fields)

    def done_in(self, form: Locator, press: str | None = None, **fields: Any) -> None:
        """Like ``done``, for a form already found."""
        self.send_in(form, press, **fields)
        assert not self.page.locator("#problem").count(), f"{self.page.url}: {self.words()[:600]}"

    def words(self) -> str:
        """Return the text of the page's main part, spaces folded."""
        return " ".join((self.page.locator("main").text_content() or "").split())

    def people(self) -> dict[str, str]:
        """Return name -> data-state of every person on the page."""
        rows = self.page.locator("[data-person]").all()
        return {row.locator("bdi").first.inner_text(): row.get_attribute("data-state") or "" for row in rows}

    def _fill(self, form: Locator, name: str, value: Any) -> None:
        boxes = form.locator(f'[name="{name}"]')
        kind = boxes.first.evaluate("box => box.type")
        for one in value if isinstance(value, list) else [value]:
            box = boxes.and_(form.locator(f'[value="{one}"]')) if kind in ("radio", "checkbox") else boxes
            unfold(box)
            if kind in ("radio", "checkbox"):
                box.check()
            elif kind == "select-one":
                box.select_option(value=str(one))
            else:
                box.fill(str(one))


def unfold(target: Locator) -> None:
    """Open whatever is folded around a control, the outermost first, as a finger does."""
    folds = target.locator("xpath=ancestor::details[not(@open)]")
    while folds.count():
        folds.first.locator("> summary").click()
