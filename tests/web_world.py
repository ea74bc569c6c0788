"""A small shop and its browsers for tests through HTTP: real forms out of real pages, every page checked."""

import atexit
import copy
import logging
import os
import shutil
import tempfile
import uuid
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any
from unittest.mock import patch
from xml.etree.ElementTree import Element

import html5lib
from argon2 import PasswordHasher
from fastapi import FastAPI
from sqlalchemy import inspect, text
from starlette.datastructures import State
from starlette.testclient import TestClient
from starlette.types import ASGIApp

from app.actions.act import PROGRAM, Act, acting
from app.actions.setup import sign_in
from app.actions.setup.sign_in import hash_secret
from app.main import application
from app.records.store.db import make_engine
from app.records.store.house import House, open_house
from app.records.store.migrate import to_newest
from app.records.tables.house import ShopRow, SiteRow
from app.records.tables.parties import SlotRow
from app.records.tables.people import PersonRow
from app.records.tables.privacy import SecrecyRow
from app.rules.choices import SECRECY_VERSION
from app.settings.config import Settings
from app.web.guard import Guard
from app.web.pages import plain_answer

# A fault of ours is logged with its place, so that a failing test says where.
logging.getLogger("daybuoy").setLevel(logging.DEBUG)

BASE = "http://127.0.0.1:8000"
PASSPHRASE = "harbour lamp gravel seven"
QUICK_HASHER = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
# A Wednesday in summer; the shop opens its day at nine on its own clock.
DAY = date(2026, 7, 15)
START = datetime(2026, 7, 15, 8, 0, tzinfo=UTC)
PEOPLE = {
    "Dora Desk": "desk",
    "Ines Instructor": "instructor",
    "Ivo Instructor": "instructor",
    "Lena Lead": "instructor lead",
    "Kim Keeper": "keeper",
    "Mona Manager": "manager",
}


@dataclass
class TestClock:
    """A clock that tests set and move."""

    __test__ = False
    at: datetime = START

    def __call__(self) -> datetime:
        return self.at

    def pass_minutes(self, minutes: float) -> None:
        """Let time pass."""
        self.at += timedelta(minutes=minutes)


@dataclass
class Page:
    """One answer, as the browser that asked for it sees it."""

    browser: "Browser"
    status: int
    url: str
    text: str
    headers: Any
    root: Element = field(repr=False)

    def find(self, tag: str, **attributes: str) -> list[Element]:
        """Return the elements of a tag whose attributes (``data_action`` for ``data-action``) match."""
        wanted = {name.replace("_", "-"): value for name, value in attributes.items()}
        return [e for e in self.root.iter(tag) if all(e.get(name) == value for name, value in wanted.items())]

    def words(self) -> str:
        """Return the text of the page's main part, spaces folded."""
        body = self.find("main") or [self.root]
        return " ".join("".join(body[0].itertext()).split())

    def forms(self, action: str) -> list[Element]:
        """Return the forms with this data-action."""
        return self.find("form", data_action=action)

    def form_fields(self, action: str, at: str | None = None) -> tuple[str, list[tuple[str, str]]]:
        """Return address and fields, as a browser would send them untouched, of one form."""
        found = [form for form in self.forms(action) if at is None or form.get("action") == at]
        assert len(found) == 1, f"{len(found)} forms {action} at {at} on {self.url}: {self.words()[:400]}"
        return found[0].get("action", self.url), list(sent_fields(found[0]))

    def send(self, form: str, at: str | None = None, **fields: str | list[str] | None) -> "Page":
        """Fill the form named ``form`` in and send it; None takes a field out. Follows to the next page."""
        to, pairs = self.form_fields(form, at)
        kept = [(name, value) for name, value in pairs if name not in fields]
        for name, value in fields.items():
            for one in value if isinstance(value, list) else [value]:
                if one is not None:
                    kept.append((name, one))
        return self.browser.post(to, kept)

    def send_files(self, form: str, files: dict[str, bytes], at: str | None = None, **fields: str) -> "Page":
        """Fill the form named ``form`` in and send it with files, as a browser sends such a form."""
        to, pairs = self.form_fields(form, at)
        assert any(one.get("enctype") == "multipart/form-data" for one in self.forms(form))
        kept = [(name, value) for name, value in pairs if name not in fields]
        return self.browser.post_files(to, [*kept, *fields.items()], list(files.items()))

    def send_form(self, form: Element, fields: dict[str, str]) -> "Page":
        """Send one form of this page with these fields changed."""
        kept = [(name, value) for name, value in sent_fields(form) if name not in fields]
        return self.browser.post(form.get("action", self.url), [*kept, *fields.items()])

    def people(self) -> dict[str, str]:
        """Return data-person -> data-state of the page."""
        return {
            e.get("data-person", ""): e.get("data-state", "")
            for e in self.root.iter()
            if e.get("data-person")
        }

    def rules(self) -> set[str]:
        """Return every data-rule of the page."""
        return {e.get("data-rule", "") for e in self.root.iter() if e.get("data-rule")}


@dataclass
class Browser:
    """One device's browser, with its own cookies."""

    client: TestClient

    def open(self, path: str, follow: bool = True) -> Page:
        """Open an address."""
        return self._page(self.client.get(path, follow_redirects=follow))

    def post(
        self, path: str, pairs: list[tuple[str, str]] | dict[str, str], follow: bool = True, **headers: str
    ) -> Page:
        """Send fields to an address, as one of our own pages would."""
        from urllib.parse import urlencode

        said = {"Origin": BASE, "Content-Type": "application/x-www-form-urlencoded", **headers}
        return self._page(
            self.client.post(path, content=urlencode(pairs), headers=said, follow_redirects=follow)
        )

    def post_files(
        self, path: str, pairs: list[tuple[str, str]], files: list[tuple[str, bytes]], follow: bool = True
    ) -> Page:
        """Send fields and files to an address; every file is called what a careless sender would call it."""
        parts = [(name, (None, value.encode(), None)) for name, value in pairs]
        sent = [(name, ("../../photo.exe", data, "text/html")) for name, data in files]
        return self._page(
            self.client.post(path, files=[*parts, *sent], headers={"Origin": BASE}, follow_redirects=follow)
        )

    def sign_in(self, name: str, secret: str = PASSPHRASE) -> Page:
        """Sign in by name."""
        return self.open("/sign-in").send("sign_in", name=name, secret=secret)

    def _page(self, answer: Any) -> Page:
        html = "html" in answer.headers.get("content-type", "")
        root = html5lib.parse(answer.text if html else "", namespaceHTMLElements=False)
        page = Page(self, answer.status_code, str(answer.url), answer.text, answer.headers, root)
        if html and answer.text:
            check_page(page)
        return page


def check_page(page: Page) -> None:
    """Hold every page that any test opens to what every page must have."""
    assert page.status != 500, f"500 at {page.url}"
    assert len(page.find("h1")) == 1, f"{page.url} has {len(page.find('h1'))} h1"
    title = "".join(page.find("title")[0].itertext()).strip()
    assert title, f"{page.url} has no title"
    ids = [e.get("id") for e in page.root.iter() if e.get("id")]
    doubled = {one for one in ids if ids.count(one) > 1}
    assert not doubled, f"{page.url}: ids twice: {doubled}"
    for form in page.find("form"):
        if form.get("method", "get").lower() == "post":
            assert form.get("data-action"), f"{page.url}: a form without data-action"
            names = {e.get("name") for e in form.iter("input")}
            assert {"key", "token"} <= names, f"{page.url}: {form.get('data-action')} lacks key or token"
    labelled = {e.get("for") for e in page.find("label")}
    for entry in page.root.iter("input"):
        if entry.get("type", "text") in ("text", "password", "checkbox", "radio"):
            assert entry.get("id") in labelled, f"{page.url}: {entry.get('name')} has no label"
    assert "Content-Security-Policy" in page.headers


def sent_fields(form: Element) -> Iterator[tuple[str, str]]:
    """Yield the fields of a form as a browser would send them untouched."""
    for e in form.iter():
        name, kind = e.get("name"), e.get("type", "text")
        if not name:
            continue
        if e.tag == "input" and (kind in ("text", "hidden", "password") or "checked" in e.attrib):
            yield name, e.get("value", "")
        elif e.tag == "textarea":
            yield name, "".join(e.itertext())
        elif e.tag == "select":
            options = list(e.iter("option"))
            chosen = [o for o in options if "selected" in o.attrib] or options[:1]
            for option in chosen:
                yield name, option.get("value", "")


@dataclass
class World:
    """A shop in a fresh folder, with its clock, its people and its browsers."""

    house: House
    clock: TestClock
    app: Any
    clients: list[TestClient] = field(default_factory=list)

    def browser(self, name: str | None = None) -> Browser:
        """Return a fresh browser, signed in as ``name`` when one is given."""
        client = TestClient(self.app, base_url=BASE)
        self.clients.append(client)
        browser = Browser(client)
        if name is not None:
            # Today is what most people land on, and what most tests do not ask for: it is not opened.
            form, pairs = browser.open("/sign-in").form_fields("sign_in")
            said = {**dict(pairs), "name": name, "secret": PASSPHRASE}
            page = browser.post(form, said, follow=False)
            assert page.status == 303 and page.headers["location"] == "/today", page.words()
        return browser

    @contextmanager
    def act(self, verb: str = "made_for_a_test") -> Iterator[Act]:
        """Write something directly, as the program."""
        with acting(self.house, PROGRAM, verb) as act:
            yield act


def whole_store(house: House, without: Collection[str] = ()) -> dict[str, str]:
    """Return the whole content of each table as text, some left out by name."""
    with house.store.engine.connect() as connection:
        names = [name for name in inspect(connection).get_table_names() if name not in without]
        return {name: repr(connection.execute(text(f'SELECT * FROM "{name}"')).all()) for name in names}


def fresh_database(like: str = "") -> str | None:
    """Return the address of a new database on the server that the tests run against; None for SQLite.

    like: the address of a database of which it is a copy; otherwise it is empty and in the newest shape.
    """
    server = os.environ.get("DAYBUOY_TEST_DATABASE_URL")
    if server is None:
        return None
    name, kept = f"shop_{uuid.uuid4().hex}", like.partition("@/")[2].partition("?")[0] or _migrated(server)
    _on_server(server, f'CREATE DATABASE "{name}" TEMPLATE "{kept}"')
    return server.replace("/postgres?", f"/{name}?")


def empty_database() -> str:
    """Return the address of a new database with nothing in it, on the server that the tests run against."""
    server, name = os.environ["DAYBUOY_TEST_DATABASE_URL"], f"empty_{uuid.uuid4().hex}"
    _on_server(server, f'CREATE DATABASE "{name}"')
    return server.replace("/postgres?", f"/{name}?")


@lru_cache(maxsize=1)
def _migrated(server: str) -> str:
    """Return the name of a database in the newest shape, made once: copying it is quick."""
    address = empty_database()
    engine = make_engine(address)
    to_newest(engine)
    engine.dispose()
    return address.removeprefix(server.partition("/postgres?")[0]).strip("/").partition("?")[0]


def _on_server(server: str, words: str) -> None:
    import psycopg

    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(words)


def build_quickly(house: House) -> ASGIApp:
    """Return what ``app.main.build`` returns, around routes that were read once in this process.

    Routes know no shop: only the state beside them does, and each application has its own.
    """
    app = copy.copy(_routes())
    app.state = State({"house": house, "chores": False, "turns": None, "uploads": None})
    app.middleware_stack = None
    return Guard(app, house.settings, plain_answer)


@lru_cache(maxsize=1)
def _routes() -> FastAPI:
    """Return an application of no shop; reading its routes takes longer than most tests."""
    nobody: Any = None
    return application(nobody)


def make_world(folder: Path) -> World:
    """Make a shop with people for every role, two sites and three slots today.

    It is a copy of one that was made first: giving a database its shape takes ten times as long.
    """
    kept, database = _kept_shop()
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copytree(kept / "data", folder / "data")
    clock = TestClock()
    house = open_house(Settings(data=folder / "data", database_url=fresh_database(database)), clock)
    return World(house, clock, build_quickly(house))


@lru_cache(maxsize=1)
def _kept_shop() -> tuple[Path, str]:
    """Make the shop that the others are copies of; returns its folder and its database's address, or ""."""
    kept = Path(tempfile.mkdtemp(prefix="daybuoy-shop-"))
    atexit.register(shutil.rmtree, kept, ignore_errors=True)
    database = fresh_database()
    house = open_house(Settings(data=kept / "data", database_url=database), TestClock())
    _furnish(house)
    house.close()
    return kept, database or ""


def _furnish(house: House) -> None:
    # What a try costs stands in the hash itself; a dear one would be paid at every sign-in of every test.
    with patch.object(sign_in, "HASHER", QUICK_HASHER):
        hashed = hash_secret(house, PASSPHRASE)
    with acting(house, PROGRAM, "made_for_a_test") as act:
        act.add(
            ShopRow(
                name="Harbour Steps",
                timezone="Europe/Lisbon",
                price_guest_cents=8500,
                phone_ambulance="112",
                phone_shop="555 0100",
                phone_dive_doctor="555 0199",
            )
        )
        for name, roles in PEOPLE.items():
            teaches = "instructor" in roles
            until = date(2027, 6, 30) if teaches else None
            person = act.add(
                PersonRow(
                    name=name,
                    roles=roles,
                    passphrase_hash=hashed,
                    grade="level 2" if teaches else "",
                    credential_until=until,
                    first_aid_until=until,
                    diver_medical_until=until,
                )
            )
            act.add(
                SecrecyRow(person_id=person.id or 0, text_version=SECRECY_VERSION, signed_on=DAY, at=act.now)
            )
        jetty = act.add(SiteRow(name="Long Jetty", water="salt", density_kg_m3=1025.5, usual_temp_c=17))
        pool = act.add(
            SiteRow(
                name="Training Pool",
                confined=True,
                water="fresh",
                density_kg_m3=997,
                usual_temp_c=28,
                depth_cap_m=2.5,
            )
        )
        for clock_time, site, places in (("10:30", jetty, 6), ("13:30", jetty, 6), ("16:00", pool, 4)):
            hours, minutes = map(int, clock_time.split(":"))
            # Lisbon is one hour ahead of UTC in July.
            starts = datetime(DAY.year, DAY.month, DAY.day, hours - 1, minutes, tzinfo=UTC)
            act.add(SlotRow(day=DAY, clock=clock_time, starts_at=starts, site_id=site.id or 0, places=places))
