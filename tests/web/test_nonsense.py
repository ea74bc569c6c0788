"""Nonsense in every field of every form: a clear message, what was typed kept, never a fault of ours."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urljoin, urlsplit
from xml.etree.ElementTree import Element

import pytest
from starlette.testclient import TestClient

from app.main import build
from app.records.store.house import House
from app.settings.config import Settings
from seed_demo.make import open_demo
from seed_demo.people import PASSPHRASE
from tests.web_world import BASE, Browser, Page

MORNING = datetime(2026, 7, 15, 6, 12, tzinfo=UTC)
# The keeper types only on pages that a logged look opens; those have tests of their own.
PEOPLE = ("Odile Marsh", "Bram Keelan", "Wren Tallow")
NONSENSE = "−1e9 ☃ bär"
# Leaving, or giving the tablet away, is no typing.
LEAVES = {"sign-out", "hand_over"}
PAGES_MOST = 250


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """The demo shop at eleven."""
    folder: Path = tmp_path_factory.mktemp("nonsense") / "demo"
    house = open_demo(Settings(data=folder, demo=True), lambda: MORNING)
    yield house
    house.close()


def pages_of(browser: Browser) -> Iterator[Page]:
    """Walk the links that this person sees, each kind of address a few times."""
    waiting, seen, kinds = ["/today"], set(), dict[str, int]()
    while waiting and len(seen) < PAGES_MOST:
        path = waiting.pop(0)
        kind = "".join("0" if letter.isdigit() else letter for letter in path.split("?")[0])
        if path in seen or kinds.get(kind, 0) >= 3:
            continue
        seen.add(path)
        kinds[kind] = kinds.get(kind, 0) + 1
        page = browser.open(path)
        if page.status != 200:
            continue
        yield page
        for link in page.find("a"):
            target = urlsplit(urljoin(page.url, link.get("href", "")))
            if f"{target.scheme}://{target.netloc}" == BASE and not target.path.startswith("/static"):
                waiting.append(target.path + (f"?{target.query}" if target.query else ""))


def text_fields(form: Element) -> list[str]:
    """Return the names of the boxes that somebody types into."""
    boxes = [e for e in form.iter("input") if e.get("type", "text") == "text"] + list(form.iter("textarea"))
    return [box.get("name", "") for box in boxes if box.get("name")]


@pytest.mark.parametrize("name", PEOPLE)
def test_nonsense_in_every_box_is_answered_beside_it_and_kept(demo: House, name: str) -> None:
    browser = Browser(TestClient(build(demo), base_url=BASE))
    assert "/today" in browser.sign_in(name, PASSPHRASE).url
    tried: set[str] = set()
    for page in pages_of(browser):
        for form in page.find("form"):
            action, names = form.get("data-action", ""), text_fields(form)
            if form.get("method") != "post" or action in LEAVES or action in tried or not names:
                continue
            tried.add(action)
            where = f"{action} on {page.url}"
            answer = page.send_form(form, dict.fromkeys(names, NONSENSE))
            assert answer.status in (200, 404, 409, 422), f"{where}: {answer.status}"
            if answer.status == 422:
                kept = [e.get("value") for e in answer.root.iter("input")]
                kept += ["".join(e.itertext()).strip("\n") for e in answer.root.iter("textarea")]
                assert NONSENSE in kept, f"{where}: what was typed is lost"
                assert answer.find("section", id="problem"), f"{where}: no summary of what is wrong"
    assert tried
