"""Finding every page of the demo shop by following links, and choosing the ones that differ."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from urllib.parse import parse_qsl, urlencode, urlsplit

from starlette.routing import Match

from app.web.access import TABLE
from app.web.route_table import routes
from tests.web_world import Browser, Page

DAY_IN_ADDRESS = re.compile(r"\d{4}-\d\d-\d\d")
# Days without end are linked from day to day: the three days of the story are enough, and one empty day.
DAYS_AROUND = 1


@dataclass(frozen=True)
class Found:
    """One page of the shop as one person sees it."""

    role: str
    route: str
    path: str
    html: str
    parts: frozenset[str]


def crawl(browser: Browser, role: str, today: date, seeds: Iterable[str]) -> list[Found]:
    """Open every page that links lead to from the seeds; a link to nowhere is a mistake."""
    waiting, seen, found, dead = list(seeds), set(seeds), [], []
    while waiting:
        path = waiting.pop(0)
        page = browser.open(path)
        if page.status != 200:
            dead.append(f"{path} answers {page.status}")
            continue
        found.append(Found(role, route_of(path), path, page.text, parts_of(page)))
        for link in _links(page):
            if link not in seen and _in_the_story(link, today):
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
        if not page.parts <= mine:
            mine |= page.parts
            chosen.append(page)
    return chosen


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


def parts_of(page: Page) -> frozenset[str]:
    """Return the kinds of parts of a page: each element with its classes, inside its parent with hers."""
    kinds: set[str] = set()

    def walk(element: object, above: str) -> None:
        for child in element:  # type: ignore[attr-defined]
            if not isinstance(child.tag, str):
                continue
            marks = " ".join(sorted(name for name in child.attrib if not name.startswith("data-")))
            kind = f"{child.tag}.{child.get('class', '')}[{marks}]"
            kinds.add(f"{above} > {kind}")
            walk(child, kind)

    walk(page.root, "")
    return frozenset(kinds)


def _links(page: Page) -> Iterator[str]:
    for anchor in page.find("a"):
        href = anchor.get("href", "")
        parts = urlsplit(href)
        if href.startswith("/") and not parts.path.startswith("/static/"):
            asked = [(name, value) for name, value in parse_qsl(parts.query) if name != "done"]
            yield parts.path + (f"?{urlencode(asked)}" if asked else "")


def _in_the_story(link: str, today: date) -> bool:
    return all(
        abs(date.fromisoformat(said) - today) <= timedelta(days=DAYS_AROUND)
        for said in DAY_IN_ADDRESS.findall(link)
    )
