"""An independent memory of who is in the water, and a shop whose forms can be sent now, late or twice.

The memory learns only from answers ("303: it is written"). It never asks the program's own rules.
"""

import re
import shutil
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from sqlmodel import col, select
from starlette.testclient import TestClient

from app.main import build
from app.records.store.house import open_house
from app.records.tables.cylinders import CylinderRow, FillRow
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.water import WaterEventRow
from app.settings.config import Settings
from tests.groups_world import book
from tests.health_world import screened
from tests.web_ready import DATABASE_NOTE, ready_group
from tests.web_world import BASE, START, TestClock, World, fresh_database, make_world

CREW = ("Ines Instructor", "Ivo Instructor", "Lena Lead", "Dora Desk")
COOKIE_NOTE = "cookie-"
TOKEN = re.compile(r'name="token" value="([^"]+)"')
SHOWN = re.compile(r'data-person="(\d+)" data-state="([a-z-]+)"')
IN, BACK, NEVER = "in", "back", "never-entered"
# A day of many dives is not what is tried here: who may dive again is tried with the rules.
SPARE_CYLINDERS = 6


@dataclass(frozen=True)
class Letter:
    """A filled-in form: what it does, whose browser holds it, and about whom."""

    verb: str
    who: str
    path: str
    fields: tuple[tuple[str, str], ...]
    group: int
    member: int = 0
    told: tuple[tuple[int, str], ...] = ()
    number: int = 0


@dataclass
class Member:
    """One place in a group. who: "guest-5", "staff-2"."""

    who: str
    group: int
    part: str
    here: bool = True


@dataclass
class Group:
    """What is known of one group. wrong: head counts in a row that did not fit who went in."""

    slot: int
    entered: bool = False
    over: bool = False
    closed: bool = False
    wrong: int = 0
    counted: list[int] = field(default_factory=list)
    searches: int = 0


@dataclass
class Memory:
    """Who joined, left, went in and came back, as acknowledged."""

    members: dict[int, Member]
    groups: dict[int, Group]
    events: list[tuple[int, str]] = field(default_factory=list)
    # Procedures that run, by number: in which group.
    searching: dict[int, int] = field(default_factory=dict)

    def state(self, member: int) -> str:
        """Return the newest word about a member, "" while there is none."""
        return next((word for one, word in reversed(self.events) if one == member), "")

    def in_water(self) -> set[int]:
        """Return everybody who went in and is not back."""
        newest = dict(self.events)
        return {member for member, word in newest.items() if word == IN}

    def of(self, group: int) -> list[int]:
        """Return who is in a group now."""
        return [number for number, one in self.members.items() if one.group == group and one.here]

    def went(self, group: int) -> int:
        """Return how many of a group went in, back or not."""
        return sum(self.state(m) in (IN, BACK) for m, one in self.members.items() if one.group == group)


def kept_sea(folder: Path) -> Path:
    """Make a shop of three groups that may go in, with a guest and cylinders to spare, and close it.

    A and B lie in one slot. C goes in later, with the guide of A.
    """
    world = make_world(folder)
    ready_group(world)
    ready_group(world, "Cy", "Di", name="B", guide="Ivo Instructor")
    ready_group(world, "Eva", "Fay", name="C", slot_id=2)
    (gil,) = book(world, "Gil")
    screened(world, gil)
    with world.act() as act:
        for number in range(SPARE_CYLINDERS):
            tested = {"last_visual": date(2026, 3, 1), "last_pressure_test": date(2025, 3, 1)}
            row = act.add(CylinderRow(number=f"9{number}", litres=15, working_pressure_bar=232, **tested))
            filled = {"start_bar": 20, "end_bar": 200, "temp_c": 30, "at": act.now, "by_id": 2}
            act.add(FillRow(cylinder_id=row.id or 0, by="a test", **filled))
    for name in CREW:
        cookies = dict(world.browser(name).client.cookies)
        (folder / f"{COOKIE_NOTE}{name}").write_text(
            "\n".join(f"{key}={one}" for key, one in cookies.items())
        )
    world.house.close()
    (folder / DATABASE_NOTE).write_text(world.house.settings.database_url or "")
    return folder / "data"


class Sea:
    """A running shop on a copy of the kept folder, its browsers, and the memory beside it."""

    def __init__(self, kept: Path, folder: Path) -> None:
        self.folder = folder
        shutil.copytree(kept, folder / "data")
        self.clock = TestClock(START + timedelta(minutes=1))
        self.database = fresh_database((kept.parent / DATABASE_NOTE).read_text())
        self.keys = 0
        self.cookies: dict[str, dict[str, str]] = {}
        self.tokens: dict[str, str] = {}
        for name in CREW:
            lines = (kept.parent / f"{COOKIE_NOTE}{name}").read_text().splitlines()
            self.cookies[name] = dict(line.split("=", 1) for line in lines)
        self._open()
        self.memory = self._as_stored()

    def _open(self) -> None:
        house = open_house(Settings(data=self.folder / "data", database_url=self.database), self.clock)
        self.world = World(house, self.clock, build(house))
        self.clients: dict[str, TestClient] = {}
        for name, cookies in self.cookies.items():
            self.clients[name] = TestClient(self.world.app, base_url=BASE, cookies=cookies)

    def _as_stored(self) -> Memory:
        with self.world.house.store.reading() as session:
            groups = {row.id or 0: Group(row.slot_id) for row in session.exec(select(GroupRow))}
            rows = list(session.exec(select(MemberRow)))
        return Memory({row.id or 0: member_of(row) for row in rows}, groups)

    def restart(self) -> None:
        """Close the shop as at night and open it again; browsers keep their cookies."""
        self.cookies = {name: dict(client.cookies) for name, client in self.clients.items()}
        self.world.house.close()
        self._open()

    def close(self) -> None:
        """Close the shop and throw its folder away."""
        self.world.house.close()
        shutil.rmtree(self.folder)

    def ask(self, who: str, path: str) -> Any:
        """Open an address, signing in anew when the sign-in has lapsed."""
        answer = self.clients[who].get(path, follow_redirects=False)
        if answer.headers.get("location") == "/sign-in":
            self.sign_in(who)
            answer = self.clients[who].get(path, follow_redirects=False)
        assert answer.status_code == 200, (who, path, answer.status_code, answer.headers.get("location"))
        return answer

    def sign_in(self, who: str) -> None:
        """Sign in anew and learn the new form token."""
        fresh = self.world.browser(who).client
        self.clients[who] = fresh
        found = TOKEN.search(fresh.get("/today").text)
        assert found is not None
        self.tokens[who] = found.group(1)

    def token(self, who: str) -> str:
        """Return the form token of somebody's sign-in."""
        if who not in self.tokens:
            found = TOKEN.search(self.ask(who, "/today").text)
            assert found is not None
            self.tokens[who] = found.group(1)
        return self.tokens[who]

    def key(self) -> str:
        """Return a one-use key."""
        self.keys += 1
        return f"{self.keys:032d}"

    def write(
        self, verb: str, who: str, path: str, group: int, fields: dict[str, Any], **about: Any
    ) -> Letter:
        """Fill a form in, as a page of ours would hold it, without sending it."""
        said = {"key": self.key(), "token": self.token(who), **fields}
        return Letter(verb, who, path, tuple((name, str(one)) for name, one in said.items()), group, **about)

    def post(self, letter: Letter, **other: str) -> tuple[int, str]:
        """Send a form, some fields changed; return status and where it leads."""
        body = urlencode({**dict(letter.fields), **other})
        headers = {"Origin": BASE, "Content-Type": "application/x-www-form-urlencoded"}
        answer = self.clients[letter.who].post(
            letter.path, content=body, headers=headers, follow_redirects=False
        )
        assert answer.status_code != 500, letter
        return answer.status_code, answer.headers.get("location", "")

    def board(self) -> dict[int, str]:
        """Return whom the board shows, with the state of each."""
        shown = SHOWN.findall(self.ask("Lena Lead", "/today/water").text)
        return {int(number): state for number, state in shown}

    def stored_events(self) -> list[tuple[int, str]]:
        """Return every water event in the records, in the order of arrival."""
        with self.world.house.store.reading() as session:
            asked = select(WaterEventRow.member_id, WaterEventRow.event).order_by(col(WaterEventRow.id))
            return [(member, word) for member, word in session.exec(asked)]

    def rows(self, kind: Any) -> list[Any]:
        """Return every row of a table, oldest first."""
        with self.world.house.store.reading() as session:
            return list(session.exec(select(kind).order_by(kind.id)))

    def newcomers(self) -> list[MemberRow]:
        """Return places in groups that the memory does not know."""
        known = self.memory.members
        return [row for row in self.rows(MemberRow) if row.id not in known]


def member_of(row: MemberRow) -> Member:
    """Return a place in a group as the memory keeps it."""
    who = f"guest-{row.guest_id}" if row.guest_id is not None else f"staff-{row.person_id}"
    return Member(who, row.group_id, row.part, row.left_at is None)


def twice(people: Iterable[str]) -> set[str]:
    """Return whoever is named more than once."""
    seen: set[str] = set()
    return {one for one in people if one in seen or seen.add(one)}  # type: ignore[func-returns-value]
