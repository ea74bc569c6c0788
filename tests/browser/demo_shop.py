"""The full demo shop behind a server, at eleven on a fixed day, and who opens it."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from playwright.sync_api import BrowserContext

from app.records.store.house import House
from app.settings.config import Settings
from app.web.cookies import COOKIE
from seed_demo.make import open_demo
from seed_demo.people import PASSPHRASE
from tests.browser.live import serving
from tests.web_world import Browser, TestClock, World, build_quickly

TODAY = date(2026, 7, 15)
# The demo stands at eleven on its first opening, whatever the hour.
OPENED = datetime(2026, 7, 15, 7, 0, tzinfo=UTC)
# One person for each role; Marta has a group in the water side today.
WHO = {
    "desk": "Odile Marsh",
    "instructor": "Marta Quillfeather",
    "lead": "Bram Keelan",
    "keeper": "Hesper Lowe",
    "manager": "Wren Tallow",
}


@dataclass
class DemoShop:
    """The demo's house, the origin of its server, and a signed-in browser for each role."""

    house: House
    origin: str
    browsers: dict[str, Browser]

    def lend(self, context: BrowserContext, role: str) -> None:
        """Let a real browser go on with the sign-in of a role."""
        cookie = self.browsers[role].client.cookies[COOKIE]
        context.add_cookies([{"name": COOKIE, "value": cookie, "url": self.origin}])


@contextmanager
def demo_shop(folder: Path) -> Iterator[DemoShop]:
    """Open the demo shop and serve it."""
    house = open_demo(Settings(data=folder / "demo", demo=True), lambda: OPENED)
    world = World(house, TestClock(house.clock()), build_quickly(house))
    browsers = {}
    for role, name in WHO.items():
        browsers[role] = world.browser()
        assert "/today" in browsers[role].sign_in(name, PASSPHRASE).url
    with serving(house) as origin:
        yield DemoShop(house, origin, browsers)
    house.close()
