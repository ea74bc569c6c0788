"""Finding every page of the demo shop by following links, and choosing the ones that differ."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from html.parser import HTMLParser
from urllib.parse import parse_qsl, urlencode, urlsplit

from starlette.routing import Match

from app.web.access import TABLE
from app.web.route_table import routes
from tests.web_world import Browser

DAY_IN_ADDRESS = re.compile(r"\d{4}-\d\d-\d\d")
# Days without end are linked from day to day: the three days of the story are enough.
DAYS_AROUND = 1
# Hand signals come in each language and each one large: two languages and one signal speak for all.
SIGNALS, LANGUAGES, SIGNAL = "/signals", ("en", "ar"), "up"
NEVER_CLOSED = frozenset(("input", "meta", "link", "br", "hr", "img", "base", "source"))


@dataclass
class Parts(HTMLParser):
    """A page read quickly: its links, its ids, how many elements, and the kinds of parts that it holds."""

    links: list[str] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    elements: int = 0
    kinds: set[str] = field(default_factory=set)
    _open: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take an element in: a kind is its name, classes and attributes inside its parent's."""
        said = dict(attrs)
        self.elements += 1
        if said.get("id"):
            self.ids.append(said["id"] or "")
        if tag == "a" and said.get("href"):
            self.links.append(said["href"] or "")
        marks = " ".join(sorted(name for name in said if not name.startswith("data-")))
        kind = f"{tag}.{said.get('class', '')}[{marks}]"
        self.kinds.add(f"{self._open[-1] if self._open else ''} > {kind}")
        if tag not in NEVER_CLOSED:
            self._open.append(kind)

    def handle_endtag(self, tag: str) -> None:
        """Leave an element."""
        while self._open and self._open.pop().partition(".")[0] != tag:
            pass


@dataclass(frozen=True)
class Found:
    """One page of the shop as one person sees it."""

    role: str
    route: str
    path: str
    html: str
    parts: Parts


def crawl(browser: Browser, role: str, today: date, seeds: Iterable[str]) -> list[Found]:
    """Open every page that links lead to from the seeds; a link to nowhere is a mistake."""
    waiting, seen, found, dead = list(seeds), set(seeds), [], []
    while waiting:
        path = waiting.pop(0)
        answer = browser.client.get(path)
        if answer.status_code != 200:
            dead.append(f"{path} answers {answer.status_code}")
            continue
        parts = Parts()
        parts.feed(answer.text)
        found.append(Found(role, route_of(path), path, answer.text, parts))
        for link in map(_plain, parts.links):
            if link and link not in seen and _in_the_story(link, today):
                seen.add(link)
                waiting.append(link)
    assert not dead, f"{role} is led to: {dead}"
    return found


def different(pages: list[Found]) -> list[Found]:
    """Return, for each route, the pages that together hold every kind of part that any of them holds.

    The fullest page comes first; one that brings nothing new is left out.
    """
    chosen: list[Found] = []
    held: dict[str, set[str]] = {}
    for page in sorted(pages, key=lambda one: (one.route, -len(one.html), one.role, one.path)):
        mine = held.setdefault(page.route, set())
        if not page.parts.kinds <= mine:
            mine |= page.parts.kinds
            chosen.append(page)
    return chosen


def fullest(pages: list[Found], role: str) -> list[Found]:
    """Return, of the pages of a role, the fullest one of each route."""
    found: dict[str, Found] = {}
    for page in (one for one in pages if one.role == role):
        before = found.get(page.route)
        if before is None or len(page.html) > len(before.html):
            found[page.route] = page
    return list(found.values())


def route_of(path: str) -> str:
    """Return the name of the route that an address belongs to."""
    scope = {"type": "http", "method": "GET", "path": urlsplit(path).path}
    for route in routes():
        if route.matches(scope)[0] is Match.FULL:
            return route.name
    raise AssertionError(f"{path} is linked and belongs to no route")


def pages_for(role: str) -> set[str]:
    """Return the names of the pages that the access table opens to a role."""
    return {
        route.name for route in routes() if "GET" in (route.methods or ()) and role in TABLE[route.name].roles
    }


def _plain(link: str) -> str:
    """Return a link to a page of ours without its place and its saved line; empty for files and PDFs."""
    parts = urlsplit(link)
    if not link.startswith("/") or parts.path.startswith("/static/"):
        return ""
    asked = [(name, value) for name, value in parse_qsl(parts.query) if name != "done"]
    if ("as", "pdf") in asked:
        return ""
    return parts.path + (f"?{urlencode(asked)}" if asked else "")


def _in_the_story(link: str, today: date) -> bool:
    parts = urlsplit(link)
    asked = dict(parse_qsl(parts.query))
    if parts.path.endswith(SIGNALS) and (
        asked.get("in", LANGUAGES[0]) not in LANGUAGES or asked.get("show", SIGNAL) != SIGNAL
    ):
        return False
    return all(
        abs(date.fromisoformat(said) - today) <= timedelta(days=DAYS_AROUND)
        for said in DAY_IN_ADDRESS.findall(link)
    )
