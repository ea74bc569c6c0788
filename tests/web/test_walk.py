"""Every page of the demo shop, as every role: E3, E5, J3, K1, M2. Names there are planted with markup."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.actions.act import PROGRAM, acting
from app.main import build
from app.records.store.house import House
from app.records.tables.days import IncidentRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import GuestRow, PartyRow
from app.records.tables.people import PersonRow
from app.settings.config import Settings
from seed_demo.make import SIGN_INS, open_demo
from tests.web_world import BASE, Browser, Page, whole_store

MORNING = datetime(2026, 7, 15, 6, 12, tzinfo=UTC)
MARKUP = "<img src=x onerror=alert(1)>"
FORMULA = "=cmd|' /C calc'!A0"
# How many pages of one pattern are opened for each role.
OF_EACH = 3
# Coming out of the water is never refused for what a form carries too much or too little.
NEVER_REFUSED = {
    "mark_back",
    "still_in",
    "report_missing",
    "report_found",
    "call_off",
    "count_heads",
    "read_pressures",
}
# Refused by leading back to the page that offers it.
LEADS_BACK = {"hand_over"}
MACHINERY_TABLES = {"visit", "wrong_try"}
NUMBERS = re.compile(r"\d+")


@dataclass
class Walk:
    """What one person found on the way through the shop."""

    browser: Browser
    pages: dict[str, Page] = field(default_factory=dict)


@dataclass
class Walked:
    """The demo shop after everybody walked through it."""

    house: House
    walks: dict[str, Walk]
    before: dict[str, str]
    after: dict[str, str]

    def pages(self) -> Iterator[tuple[str, Page]]:
        """Yield who opened it, and the page."""
        for name, walk in self.walks.items():
            for page in walk.pages.values():
                yield name, page


def snapshot(house: House) -> dict[str, str]:
    """Return what is stored, but for who is signed in."""
    return whole_store(house, MACHINERY_TABLES)


def plant(house: House) -> None:
    """Put markup and a formula where people type names and words."""
    with acting(house, PROGRAM, "made_for_a_test") as act:
        for guest in act.session.exec(select(GuestRow)):
            guest.full_name, guest.call_name = f"{MARKUP} {guest.id}", f"{MARKUP}{guest.id}"
        for party in act.session.exec(select(PartyRow)):
            party.contact_name, party.phone = f"{MARKUP} {party.id}", FORMULA
        for site in act.session.exec(select(SiteRow)):
            site.name = f"{MARKUP}{site.id}"
        for incident in act.session.exec(select(IncidentRow)):
            incident.what = MARKUP
        for person in act.session.exec(select(PersonRow)):
            person.name = f"{person.name} {MARKUP}"


def walk_through(browser: Browser) -> Walk:
    """Open every address that links lead to from Today, a few of each pattern."""
    walk = Walk(browser)
    waiting, seen, opened = ["/today", "/setup", "/welcome", "/gas", "/groups", "/look-back"], set(), {}
    while waiting:
        path = waiting.pop(0)
        pattern = NUMBERS.sub("#", path)
        if path in seen or opened.get(pattern, 0) >= OF_EACH:
            continue
        seen.add(path)
        opened[pattern] = opened.get(pattern, 0) + 1
        page = browser.open(path)
        assert page.status in (200, 404), (path, page.status)
        if page.status == 404:
            continue
        walk.pages[path] = page
        for link in page.root.iter("a"):
            to = urlsplit(urljoin(page.url, link.get("href", "")))
            if f"{to.scheme}://{to.netloc}" == BASE and not to.path.startswith("/static/"):
                waiting.append(to.path + (f"?{to.query}" if to.query else ""))
    return walk


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Walked]:
    folder: Path = tmp_path_factory.mktemp("walk") / "demo"
    house = open_demo(Settings(data=folder, demo=True), lambda: MORNING)
    # The clock stands still, so that nothing lapses on the way.
    standing = house.clock()
    house.clock = lambda: standing
    plant(house)
    app = build(house)
    walks: dict[str, Walk] = {}
    people = json.loads((folder / SIGN_INS).read_text(encoding="utf-8"))
    browsers = {}
    for one in people:
        client = TestClient(app, base_url=BASE)
        browsers[one["person"]] = Browser(client)
        page = browsers[one["person"]].sign_in(f"{one['person']} {MARKUP}", one["passphrase"])
        assert page.url.endswith("/today")
    try:
        before = snapshot(house)
        for name, browser in browsers.items():
            walks[name] = walk_through(browser)
        yield Walked(house, walks, before, snapshot(house))
    finally:
        house.close()


def test_e5_looking_at_every_page_changes_nothing(walked: Walked) -> None:
    assert sum(len(walk.pages) for walk in walked.walks.values()) > 100
    changed = [name for name in walked.before if walked.before[name] != walked.after[name]]
    assert changed == []


def test_j3_markup_in_names_is_shown_as_typed_and_never_becomes_an_element(walked: Walked) -> None:
    shown = 0
    for name, page in walked.pages():
        assert not page.find("img", src="x"), (name, page.url)
        for element in page.root.iter():
            handlers = [key for key in element.attrib if key.lower().startswith("on")]
            assert not handlers and "style" not in element.attrib, (page.url, element.tag, handlers)
            assert not element.get("href", "").startswith("javascript:"), page.url
        for script in page.find("script"):
            assert script.get("src", "").startswith("/static/"), page.url
        shown += MARKUP in "".join(page.root.itertext())
    assert shown > 50


def test_m2_every_form_names_its_verb_and_carries_key_and_token(walked: Walked) -> None:
    keys: list[str] = []
    for _, page in walked.pages():
        for form in page.find("form"):
            if form.get("method", "get").lower() != "post":
                continue
            inputs = {one.get("name", ""): one.get("value", "") for one in form.iter("input")}
            assert form.get("data-action"), page.url
            assert len(inputs["key"]) >= 22 and inputs["token"], page.url
            keys.append(inputs["key"])
    assert len(keys) > 200 and len(set(keys)) == len(keys), "each form has a key of its own"


def test_k1_pages_with_people_are_not_stored_and_ask_nothing_of_others(walked: Walked) -> None:
    for _, page in walked.pages():
        assert page.headers["cache-control"] == "no-store", page.url
        for element in page.root.iter():
            for attribute in ("src", "href", "action"):
                said = element.get(attribute, "")
                assert not said.startswith(("http:", "https:", "//")), (page.url, said)


def forms_with_a_version(walked: Walked) -> dict[str, list[tuple[str, Browser, str]]]:
    """Return, for each action that edits, where its forms stand: page, browser and the form's address."""
    found: dict[str, list[tuple[str, Browser, str]]] = {}
    for walk in walked.walks.values():
        for path, page in walk.pages.items():
            for form in page.find("form"):
                fields = {one.get("name") for one in form.iter("input")}
                if "version" in fields and form.get("data-action") not in NEVER_REFUSED:
                    place = (path, walk.browser, form.get("action", ""))
                    found.setdefault(form.get("data-action", ""), []).append(place)
    return found


def send_stale(page: Page, action: str, at: str, fill: dict[str, str]) -> Page:
    """Send a form as it stands, ``fill`` typed in, made from an older version of its record."""
    to, pairs = page.form_fields(action, at)
    version = int(dict(pairs)["version"])
    kept = [(name, value) for name, value in pairs if name not in ("version", *fill)]
    return page.browser.post(to, [*kept, ("version", str(version - 1)), *fill.items()])


def typed_for(page: Page, answer: Page, action: str, at: str) -> dict[str, str]:
    """Return something to type for each field that a refusal asks for."""
    form = next(form for form in page.forms(action) if form.get("action") == at)
    options = {
        one.get("name", ""): [option.get("value", "") for option in one.iter("option")]
        for one in form.iter("select")
    }
    for button in form.iter("button"):
        if button.get("name"):
            options.setdefault(button.get("name", ""), []).append(button.get("value", ""))
    wrong = {one.get("id", "").removeprefix("wrong-") for one in answer.root.iter() if one.get("id", "")}
    names = {one.get("name", "") for one in form.iter() if one.get("name")} & wrong
    return {name: options[name][-1] if name in options else "90" for name in names}


def stale_fault(walked: Walked, path: str, browser: Browser, action: str, at: str) -> str | None:
    """Send one form from an older version; return what is wrong with the answer, None when it is right."""
    page, before = browser.open(path), snapshot(walked.house)
    answer = send_stale(page, action, at, {})
    fill = typed_for(page, answer, action, at) if answer.status == 422 else {}
    if fill:
        answer = send_stale(page, action, at, fill)
    if snapshot(walked.house) != before:
        return "it was stored"
    if answer.status != 409:
        return f"{answer.status} {fill} {answer.words()[:200]}"
    if answer.forms(action):
        kept = answer.form_fields(action, at)[1]
        sent = page.form_fields(action, at)[1]
        machinery = ("key", "token", "version", *fill)
        lost = [pair for pair in sent if pair[1] and pair[0] not in machinery and pair not in kept]
        return f"lost {lost}" if lost else None
    return None


def test_e3_every_form_that_edits_answers_a_stale_version_with_both(walked: Walked) -> None:
    found = forms_with_a_version(walked)
    assert len(found) >= 8
    wrong = {}
    for action, places in found.items():
        # A rule may speak before the version does (somebody is in the water): then another form is asked.
        faults = []
        for path, browser, at in places[:8]:
            faults.append(stale_fault(walked, path, browser, action, at))
            if faults[-1] is None:
                break
        if None not in faults or any("stored" in fault for fault in faults if fault):
            wrong[action] = faults
    assert wrong == {}


def test_e5_a_field_that_no_form_has_is_refused_everywhere(walked: Walked) -> None:
    done, wrong = set(), []
    before = snapshot(walked.house)
    for walk in walked.walks.values():
        for path, page in walk.pages.items():
            for form in page.find("form"):
                action = form.get("data-action", "")
                if action in done | NEVER_REFUSED or form.get("method", "get").lower() != "post":
                    continue
                done.add(action)
                # A page may hold the same form twice (one for each size of paper): the first of them speaks.
                same = {"data_action": action, "action": form.get("action", "")}
                fresh = walk.browser.open(path).find("form", **same)
                answer = page.send_form(fresh[0], {"surprise": "1"})
                refused = answer.status in (409, 422) or action in LEADS_BACK
                if not refused or snapshot(walked.house) != before:
                    wrong.append((action, answer.status, answer.words()[:120]))
                    before = snapshot(walked.house)
    assert len(done) > 25
    assert wrong == []
