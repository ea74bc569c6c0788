"""Every written-down case of the health screening, answered by a guest on the tablet as the pages ask.

The outcome word is read at the desk and the reasons on the lead's page. One shop serves all of them.
"""

import html
import json
import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.records.question_sets import shipped_question_set
from app.records.tables.parties import GuestRow
from app.rules.question_set import Part
from app.rules.reason_words import LEVEL_WORDS
from app.rules.screening import Outcome
from tests.health_world import (
    ANSWER,
    TEXTS,
    add_guest,
    answer_all,
    hand_over,
    sign,
    sign_guardian,
    stands,
    to_questions,
)
from tests.letter_world import reasons, whole_letter, words_of
from tests.web_world import BASE, DAY, START, Browser, Page, World, make_world

VECTORS = json.loads((Path(__file__).parents[1] / "rules" / "screening_vectors.json").read_text())
LETTERS = {words: str(level) for level, words in LEVEL_WORDS.items()}
OPEN, POOL = 1, 3
TODAY = [one.code for one in shipped_question_set().top_questions if one.part is Part.TODAY]
# What had to be signed before the day: the number of days before.
EARLIER = {"V33": 31, "V34": 1}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """One shop for every case; whoever signed before the day did so before the first of them."""
    world = make_world(tmp_path_factory.mktemp("vectors"))
    for row in VECTORS:
        days = EARLIER.get(row["case"]["id"])
        if days is not None:
            world.clock.at = START - timedelta(days=days)
            guest = book(world, row["case"])
            signed = sign(answer_all(to_questions(hand_over(world, guest))))
            assert signed.status == 200
    world.clock.at = datetime(DAY.year, DAY.month, DAY.day, 8, 0, tzinfo=UTC)
    yield world
    world.house.close()


def book(world: World, case: dict[str, Any]) -> int:
    """Book the guest of a case."""
    born = date(DAY.year - case["age"], 1, 1)
    return add_guest(world, case["id"], born, OPEN if case["site"] == "open" else POOL)


def booked(world: World, case: dict[str, Any]) -> int:
    """Return the guest of a case, who may have been booked before."""
    if case["id"] not in EARLIER:
        return book(world, case)
    with world.house.store.reading() as session:
        found = session.exec(select(GuestRow).where(GuestRow.ref == f"ref-{case['id']}")).one()
        return found.id or 0


def fill_in(world: World, case: dict[str, Any], guest: int) -> None:
    """Go through the form as this guest does, on the day."""
    if case["id"] == "V33":
        # The form itself would ask an old history anew: this guest never came back to it.
        return
    tablet, understands = hand_over(world, guest), {}
    if case["lang"] != "ok":
        understands = {"understands": "en"}
        tablet.open("/guest").send("choose_language", language="de")
    page = tablet.open("/guest")
    if page.forms("begin_form"):
        page = page.send("begin_form")
    else:
        agreed: dict[str, str | list[str] | None] = {
            "agree": "yes",
            "signed_name": "Gwen Guest",
            **understands,
        }
        page = tablet.open("/guest/consent").send("agree_health_data", **agreed)
    said = dict(case["answers"])
    hours = "" if case["fly_h"] is None else str(case["fly_h"])
    places = answer_quickly(tablet, page, {c: "Y" if w == "Y>N" else w for c, w in said.items()}, hours)
    for code in (code for code, word in said.items() if word == "Y>N"):
        answer_one(tablet.client, read(tablet.client, places[code]), "N")
    if case["today"] != "Y":
        return
    signing: dict[str, str | list[str] | None] = {"agree": "yes", "signed_name": "Gwen Guest", **understands}
    page = tablet.open("/guest/sign").send("sign_form", **signing)
    assert page.status == 200, page.words()
    if case["guardian"] == "Y":
        sign_guardian(tablet.open("/guest/guardian"), "poolside")


def read(client: TestClient, path: str) -> Any:
    """Open a page of the form, past the one that sends a minor's parent away."""
    answer = client.get(path)
    alone = re.search(r'href="([^"]+)\?alone=1"', answer.text)
    return client.get(f"{alone.group(1)}?alone=1") if alone else answer


def answer_one(client: TestClient, page: Any, said: str, hours: str = "") -> Any:
    """Send the question's own form with one of its buttons."""
    form = page.text[page.text.index('data-action="answer_question"') :].partition("</form>")[0]
    fields = dict(re.findall(r'name="(key|token|mark|hours)"[^>]* value="([^"]*)"', form))
    fields |= {"answer": ANSWER[said]} | ({"hours": hours} if "hours" in fields and hours else {})
    return client.post(str(page.url).partition("?")[0], data=fields, headers={"Origin": BASE})


def answer_quickly(tablet: Browser, page: Page, said: dict[str, str], hours: str) -> dict[str, str]:
    """Answer every question, No unless said otherwise; return where each was asked, by code.

    The pages are read without a parser: there are a thousand of them.
    """
    places: dict[str, str] = {}
    now = read(tablet.client, page.url)
    for _ in range(90):
        if "/guest/questions/" not in str(now.url):
            return places
        words = html.unescape(re.findall(r"<h1>(.*?)</h1>", now.text, re.DOTALL)[0])
        code = TEXTS.get(words, "")
        places[code] = str(now.url)
        word = said.get(code, "N")
        done = answer_one(tablet.client, now, word, hours if code == "TRIP.a" else "")
        if code == "TRIP.a" and word == "Y" and not hours:
            assert done.status_code == 422, "a Yes to flying asks for the hours"
            done = answer_one(tablet.client, read(tablet.client, places[code]), "?")
        assert done.status_code == 200, done.text[:2000]
        now = read(tablet.client, str(done.url))
    raise AssertionError("the questions do not end")


def reasons_shown(page: Page) -> set[str]:
    """Return the reasons of a page as the cases write them: code and level."""
    shown = ["".join(one.itertext()).rpartition(": ") for one in page.find("dt")]
    return {f"{code}/{LETTERS[words]}" for code, _, words in shown if words in LETTERS}


@pytest.mark.parametrize("row", VECTORS, ids=lambda row: row["case"]["id"])
def test_a_guest_answers_and_the_desk_reads_the_word_and_the_lead_the_reasons(
    shop: World, row: dict[str, Any]
) -> None:
    case, letter = row["case"], row["case"]["letter"]
    asked_later = [code for code, word in case["answers"].items() if word == "-"]
    guest = booked(shop, {**case, "age": case["age"] - 1} if asked_later else case)
    fill_in(shop, {**case, "answers": {c: w for c, w in case["answers"].items() if w != "-"}}, guest)
    if asked_later:
        # The date of birth was wrong by a year: a question of the right age was never asked.
        with shop.act() as act:
            act.edit(act.get(GuestRow, guest), None, {"birth_date": date(DAY.year - case["age"], 1, 1)}, {})
    if letter is not None:
        said = words_of(letter["verdict"], letter["iss"], letter["exp"])
        whole_letter(shop, guest, said, *letter["cov"])
    outcome = Outcome(row["outcome"])
    expected = set(row["reasons"])
    desk = shop.browser("Dora Desk").open(f"/guests/{guest}/health")
    assert desk.people() == {str(guest): outcome.desk_words}
    shown = reasons_shown(reasons(shop.browser("Lena Lead"), guest, "talk"))
    if case["id"] == "V33":
        # The form asks an old history anew, so the day's part was not asked on top of it.
        unasked = {f"{code}/I" for code in (*TODAY, "TODAY-STALE")}
        assert shown == expected | unasked
        return
    assert shown == expected
    assert stands(shop, guest).outcome == row["outcome"]
