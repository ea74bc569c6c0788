"""Marked words in every health field of a guest: found where they were opened, and nowhere else at all."""

import io
import logging
import re
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest
from pypdf import PdfReader

from app.actions.act import Actor, acting
from app.actions.health import letters
from app.actions.health.letters import LetterWords
from app.actions.keep import backups
from app.records.question_sets import shipped_question_set
from app.records.setup.visits import person_named
from app.records.store.check import check_folder
from app.records.store.house import DATABASE
from app.rules.doctors_letter import Verdict
from app.web.access import ANYBODY, GUEST
from app.web.route_table import route_table
from tests.health_world import (
    TEEN,
    add_guest,
    answer_all,
    group_with,
    hand_over,
    to_questions,
)
from tests.web_world import BASE, DAY, PEOPLE, Browser, World, make_world, sent_fields, whole_store

# One for each field that somebody types into; none is a word of the program.
MARKS = {
    "signature": "Quarbelsign",
    "guardian": "Quarbelparent",
    "guardian phone": "5550986431",
    "collector": "Quarbelaunt",
    "doctor": "Quarbeldoctor",
    "register": "Quarbelregister",
    "practice": "Quarbelpractice",
    "limits": "Quarbellimits",
    "scan": "Quarbelscan",
}
ANY = re.compile("|".join(MARKS.values()), re.IGNORECASE)
CODES = re.compile(r"\b(?:" + "|".join(sorted({q.code for q in shipped_question_set().questions})) + r")\b")
QUESTION = next(q.text for q in shipped_question_set().questions if q.code == "LUNG")
BODY = b"%PDF-1.7\n1 0 obj\n<</Title (Quarbelscan)>>\nendobj\n"
SCAN = BODY + b"xref\n0 1\n0000000000 65535 f \ntrailer\n<</Size 1>>\nstartxref\n%d\n%%%%EOF\n" % len(BODY)
# Files that come in one form only.
NO_CHOICE = ("export_calendar", "export_everything")
# Pages where the questions stand as questions, for everybody alike.
SHOWS_QUESTIONS = ("/setup/", "/prints/", "/languages")


@dataclass
class Planted:
    """A shop with a child whose health record holds a mark in every field."""

    world: World
    guest: int
    group: int
    log: pytest.LogCaptureFixture


@pytest.fixture
def planted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> Iterator[Planted]:
    """Let the child answer and sign, the parent sign, and the keeper record a letter with its scan."""
    monkeypatch.delenv("DAYBUOY_TEST_DATABASE_URL", raising=False)
    caplog.set_level(logging.DEBUG)
    world = make_world(tmp_path)
    guest = add_guest(world, "Tamsin", born=TEEN, ref="c0ffee4321")
    tablet = hand_over(world, guest)
    page = answer_all(to_questions(tablet), LUNG="Y", BABY="N")
    signed = tablet.open("/guest/sign").send("sign_form", agree="yes", signed_name=MARKS["signature"])
    page = signed if signed.forms("sign_guardian") else tablet.open("/guest/guardian")
    page.send(
        "sign_guardian", name=MARKS["guardian"], relation="parent", phone=MARKS["guardian phone"],
        place="on site", id_seen="yes", rights="yes", agree="yes", agree_health="yes", urgent_care="yes",
        may_collect=MARKS["collector"],
    )  # fmt: skip
    group = group_with(world, "Ines Instructor", guest)
    with world.house.store.reading() as session:
        kim = person_named(session, "Kim Keeper")
    keeper = Actor("Kim Keeper", frozenset({"keeper"}), kim.id if kim else None)
    with acting(world.house, keeper, "add_scan") as act:
        letters.add_scan(act, guest, SCAN)
    with acting(world.house, keeper, "record_letter") as act:
        letters.record_letter(
            act,
            guest,
            LetterWords(
                MARKS["doctor"], MARKS["register"], MARKS["practice"], Verdict.FIT, DAY, None,
                MARKS["limits"], ("LUNG",), (1,),
            ),
        )  # fmt: skip
    yield Planted(world, guest, group, caplog)
    world.house.close()


def pages_of(shop: Planted, browser: Browser, roles: set[str]) -> Iterator[tuple[str, str]]:
    """Yield address and text of every page that somebody may open, whatever its number stands for."""
    for row in route_table():
        if row["method"] != "GET" or not (set(row["roles"]) & (roles | {ANYBODY})) or GUEST in row["roles"]:
            continue
        if row["path"].startswith(("/static", "/sign-in")):
            continue
        path = row["path"].replace("{day}", DAY.isoformat()).replace("{guest_id}", str(shop.guest))
        path = re.sub(r"\{(?:group_id)\}", str(shop.group), path)
        page = browser.open(re.sub(r"\{[^}]*\}", "1", path))
        yield path, page.text
    for asked in MARKS.values():
        yield f"search {asked}", browser.open(f"/search?q={asked}").words().replace(asked, "")


def test_no_page_that_anybody_may_open_shows_a_mark(planted: Planted) -> None:
    for name, roles in PEOPLE.items():
        seen = 0
        for path, text in pages_of(planted, planted.world.browser(name), set(roles.split())):
            seen += 1
            assert not ANY.search(text), (name, path, ANY.search(text))
            if not path.startswith(SHOWS_QUESTIONS):
                assert not CODES.search(text) and QUESTION not in text, (name, path, CODES.search(text))
        assert seen > 20, "the pages were opened"


def test_no_mark_lies_in_the_open_in_store_log_trail_or_backup(planted: Planted) -> None:
    world, house = planted.world, planted.world.house
    kim = world.browser("Kim Keeper")
    opened = kim.open(f"/guests/{planted.guest}/data").send(
        "export_data", asked_by="guest", papers_seen="yes", as_what="file"
    )
    for what, mark in MARKS.items():
        if what != "scan":
            assert mark in opened.text, f"{what} is really there, sealed"
    wrong = kim.open(f"/guests/{planted.guest}/health").send("look_at_reasons", why=MARKS["doctor"])
    assert wrong.status == 422
    for path in (f"/guests/{MARKS['doctor']}/health", f"/health-records/{MARKS['limits']}"):
        assert kim.open(path).status in (404, 422)
    for table, text in whole_store(house).items():
        assert not ANY.search(text), table
    said = backups.back_up(house, world.clock(), lambda _step: None)
    files = [one for one in house.settings.data.parent.rglob("*") if one.is_file()]
    assert "Opened and checked" in said and any("shop" in one.name for one in files)
    for one in files:
        found = ANY.search(one.read_bytes().decode("latin-1"))
        assert found is None, (one.name, found)
    # The test's own browser says which addresses it asks for; everything else is ours.
    said_by = [one for part in ("setup", "call") for one in planted.log.get_records(part)]
    lines = [one.getMessage() for one in said_by if not one.name.startswith("httpx")]
    assert sum("route=" in line for line in lines) > 40
    for line in lines:
        assert not ANY.search(line) and QUESTION not in line and not CODES.search(line), line
    assert check_folder(house.settings)[0] is None


def files_of(shop: Planted) -> Iterator[tuple[str, str]]:
    """Yield name and text of every file that the manager may take out of the shop."""
    mona = shop.world.browser("Mona Manager")
    places = [(path, form) for path in (f"/share?day={DAY}", "/parties/1") for form in ("xlsx", "csv")]
    for path, form in places:
        for one in mona.open(path).find("form"):
            action = one.get("data-action", "")
            if not action.startswith("export_"):
                continue
            typed = dict(sent_fields(one)) | ({"form": form} if action not in NO_CHOICE else {})
            if action == "export_group":
                typed["group"] = str(shop.group)
            answer = mona.client.post(one.get("action", ""), data=typed, headers={"Origin": BASE})
            assert "attachment" in answer.headers.get("content-disposition", ""), (action, answer.text[:400])
            yield f"{action} {form}", opened(answer.content)
    prints = {a.get("href", "") for a in mona.open(f"/prints?day={DAY}").find("a")}
    for path in sorted(one for one in prints if one.startswith(("/prints/", f"/days/{DAY}"))):
        forms = mona.open(path).forms("make_pdf")
        if forms:
            button = next(forms[0].iter("button"))
            typed = dict(sent_fields(forms[0])) | {"paper": button.get("value", "")}
            answer = mona.client.post(forms[0].get("action", ""), data=typed, headers={"Origin": BASE})
            assert answer.headers["content-type"] == "application/pdf", path
            yield path, " ".join(one.extract_text() for one in PdfReader(io.BytesIO(answer.content)).pages)


def opened(data: bytes) -> str:
    """Return a file as text; of a packed one every file in it."""
    if not data.startswith(b"PK"):
        return data.decode()
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        return " ".join(packed.read(name).decode() for name in packed.namelist())


def test_no_file_that_leaves_the_shop_holds_a_mark(planted: Planted) -> None:
    seen = {}
    for name, text in files_of(planted):
        assert not ANY.search(text), (name, ANY.search(text))
        if "blank" not in name:
            assert not CODES.search(text) and QUESTION not in text, (name, CODES.search(text))
        seen[name] = text
    assert {f"export_{one} csv" for one in ("days", "group", "guest", "calendar", "everything")} <= set(seen)
    assert "Tamsin" in seen["export_guest csv"] and "Tamsin" in seen["export_everything csv"]
    assert sum(name.startswith(("/prints/", "/days/")) for name in seen) >= 5
    with closing(sqlite3.connect(planted.world.house.settings.data / DATABASE)) as raw:
        raw.execute("UPDATE guest SET languages = ?", (MARKS["doctor"],))
        raw.commit()
    found = [name for name, text in files_of(planted) if ANY.search(text)]
    assert len(found) >= 3, "the files are really read"


def test_a_mark_planted_in_the_open_is_found(planted: Planted) -> None:
    with closing(sqlite3.connect(planted.world.house.settings.data / DATABASE)) as raw:
        raw.execute("UPDATE guest SET languages = ?", (MARKS["doctor"],))
        raw.commit()
    assert ANY.search(whole_store(planted.world.house)["guest"])
    text = "".join(text for _, text in pages_of(planted, planted.world.browser("Dora Desk"), {"desk"}))
    assert ANY.search(text), "the pages are really read"
