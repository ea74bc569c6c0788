"""The plan as a guide meets it: read at one look on a phone, and taken along on one sheet of paper."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page

from app.records.tables.groups import MemberRow
from app.web.cookies import COOKIE
from tests.browser.hands import PHONE, NewContext
from tests.browser.live import serving
from tests.groups_world import book, give_cylinders, group_of, look_at_water, person_id
from tests.web_world import make_world

# 14 points and 10 mm as browsers count them, at 96 to the inch.
PX_IN_14_PT = 14 / 72 * 96
PX_IN_10_MM = 10 / 25.4 * 96
# The width of A4 between its margins of 14 mm.
SHEET = {"width": 688, "height": 1000}
SIZES = """() => [...document.querySelectorAll('.slate *')]
  .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && /[0-9]/.test(n.textContent)))
  .map(e => [e.textContent.trim(), parseFloat(getComputedStyle(e).fontSize)])"""
CUT = """() => [...document.querySelectorAll('.slate td, .slate th, .slate .pencil')]
  .filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
  .map(e => e.textContent.trim())"""


@contextmanager
def plan_of_six(tmp_path: Path, new_context: NewContext, units: str) -> Iterator[tuple[Page, str]]:
    """Give a phone signed in as the guide of a group of six with an issued plan, and the plan's address."""
    world = make_world(tmp_path)
    group_id = group_of(world, book(world, "Mira", "Bartholomew", "Ann", "Bo"))
    with world.act() as act:
        helper = person_id(world, "Ivo Instructor")
        shared = {"group_id": group_id, "joined_at": world.clock(), "joined_by": "a test"}
        act.add(MemberRow(part="assistant", person_id=helper, **shared))
    give_cylinders(world, group_id, bar=225)
    look_at_water(world)
    guide = world.browser("Ines Instructor")
    guide.open("/your-units").send("choose_units", set=units)
    assert guide.open(f"/groups/{group_id}/plan").send("issue_plan").status == 200
    with serving(world.house) as origin:
        phone = new_context(viewport=PHONE)
        cookie = guide.client.cookies[COOKIE]
        phone.add_cookies([{"name": COOKIE, "value": cookie, "url": origin}])
        yield phone.new_page(), f"{origin}/groups/{group_id}/plan"
    world.house.close()


@pytest.mark.parametrize("units", ["metric", "other"])
def test_a_phone_shows_what_matters_without_scrolling(
    tmp_path: Path, new_context: NewContext, units: str
) -> None:
    with plan_of_six(tmp_path, new_context, units) as (page, address):
        page.goto(address)
        figures = page.locator("#figures .figure")
        labels = [words.strip() for words in figures.locator(".label").all_inner_texts()]
        assert [label.casefold() for label in labels] == ["turn", "reserve", "time", "depth"]
        seen = [page.locator("#state"), *figures.all(), page.locator("#limits"), page.locator(".caution")]
        for part in seen:
            box = part.bounding_box()
            assert box is not None and box["x"] >= 0 and box["x"] + box["width"] <= PHONE["width"]
            assert box["y"] + box["height"] <= PHONE["height"], part.inner_text()
        for number in figures.locator(".number").all():
            assert number.evaluate("e => parseFloat(getComputedStyle(e).fontSize)") >= 40
        assert "up to date" in page.locator("#state").inner_text()
        assert "limit" in page.locator("#limits").inner_text()
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        texts = page.locator("figure svg text")
        drawn = page.locator("figure svg").bounding_box()
        assert drawn is not None and texts.count() > 5
        scale = drawn["width"] / 360
        assert (
            min(texts.evaluate_all("all => all.map(e => parseFloat(getComputedStyle(e).fontSize))")) * scale
            >= 14
        )


@pytest.mark.parametrize("units", ["metric", "other"])
def test_the_slate_of_a_group_of_six_is_one_page(tmp_path: Path, new_context: NewContext, units: str) -> None:
    with plan_of_six(tmp_path, new_context, units) as (page, address):
        page.goto(f"{address}/slate")
        for paper in ("A4", "Letter"):
            assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper))) == 1, paper
        page.emulate_media(media="print")
        page.set_viewport_size(SHEET)
        sizes = page.evaluate(SIZES)
        assert len(sizes) > 10 and {words: size for words, size in sizes if size < PX_IN_14_PT - 0.1} == {}
        pencils = page.locator(".pencil")
        assert pencils.count() == 6 * 6 + 4
        boxes = pencils.evaluate_all(
            "all => all.map(e => e.getBoundingClientRect()).map(r => [r.width, r.height])"
        )
        assert min(min(box) for box in boxes) >= PX_IN_10_MM
        assert page.evaluate(CUT) == []
        rows = page.locator("tbody tr").all_inner_texts()
        assert all(
            any(name in row for row in rows) for name in ("Mira", "Bartholomew", "Ivo Instructor", "Bo")
        )
