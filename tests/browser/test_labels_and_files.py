"""In a real browser: labels fill their sheets and are not cut, and files go with a form, scripts or not."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page

from app.records.tables.cylinders import CylinderRow
from tests.browser.hands import NewContext
from tests.browser.live import serving
from tests.picture_bytes import png
from tests.web_world import PASSPHRASE, World, make_world

PX_PER_MM = 96 / 25.4
# What of a label lies outside its place, in px: a list that must be empty.
CUT = """() => [...document.querySelectorAll('.label-place:not(.free)')].flatMap((place) => {
  const room = place.getBoundingClientRect();
  const parts = [...place.querySelectorAll('svg, span, b, bdi')];
  return parts.map((part) => part.getBoundingClientRect()).filter((box) =>
    box.left < room.left || box.right > room.right || box.top < room.top || box.bottom > room.bottom);
})"""


def stock(world: World, count: int) -> None:
    with world.act() as act:
        for number in range(1, count + 1):
            words = "W" * 18 if number == count else str(number)
            act.add(CylinderRow(number=words, litres=12, working_pressure_bar=232, material="aluminium"))


def signed_in(page: Page, origin: str) -> None:
    page.goto(f"{origin}/sign-in")
    page.fill("[name=name]", "Mona Manager")
    page.fill("[name=secret]", PASSPHRASE)
    page.click("main button:has-text('Sign in')")
    page.wait_for_url("**/today*")


def test_labels_fill_two_a4_sheets_and_none_is_cut(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    stock(world, 30)
    with serving(world.house) as origin:
        page = new_context().new_page()
        signed_in(page, origin)
        picks = "&".join(f"pick={number}" for number in range(1, 31))
        page.goto(f"{origin}/labels/sheet?kind=cylinder&start=5&{picks}")
        page.emulate_media(media="print")
        box = page.locator(".label-place").nth(4).bounding_box()
        assert box is not None
        assert (round(box["width"] / PX_PER_MM), round(box["height"] / PX_PER_MM)) == (70, 37)
        assert page.evaluate(CUT) == []
        code = page.locator(".qr").first.bounding_box()
        assert code is not None and code["width"] / PX_PER_MM >= 24
        printed = page.pdf(prefer_css_page_size=True)
        sizes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", printed)
        assert [(round(float(w) / 72 * 25.4), round(float(h) / 72 * 25.4)) for w, h in sizes] == [
            (210, 297)
        ] * 2
    world.house.close()


@pytest.mark.parametrize("scripts", [True, False])
def test_a_picture_goes_with_its_form(tmp_path: Path, new_context: NewContext, scripts: bool) -> None:
    world = make_world(tmp_path)
    stock(world, 1)
    with serving(world.house) as origin:
        page = new_context(java_script_enabled=scripts).new_page()
        signed_in(page, origin)
        page.goto(f"{origin}/gas/cylinders/1")
        for data, words in ((b"no picture", "no JPEG or PNG"), (png(80, 60), "Picture kept.")):
            page.set_input_files("[name=photo]", {"name": "a.png", "mimeType": "image/png", "buffer": data})
            page.click("text=Keep this picture")
            page.wait_for_selector(f"#problem:has-text('{words}'), #saved:has-text('{words}')")
        shown = page.request.get(origin + (page.locator(".pictures img").get_attribute("src") or ""))
        assert shown.headers["content-type"] == "image/png"
    world.house.close()
