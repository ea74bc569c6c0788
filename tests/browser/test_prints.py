"""In a real browser: what it prints is what the PDF holds, on both papers, and nothing is cut at the edge."""

import io
import re
import unicodedata
from pathlib import Path

from playwright.sync_api import APIResponse, Page
from pypdf import PdfReader

from tests.browser.hands import NewContext
from tests.browser.live import serving
from tests.web_ready import GUIDE, ready_group
from tests.web_world import DAY, PASSPHRASE, make_world

PAPERS = {"A4": "a4", "Letter": "letter"}
# A page that both make alike, and one of several pages.
SHEETS = (f"/prints/{DAY}/roll-call", "/prints/blank/health", "/groups/1/plan/slate")
MILLIMETRES = """(selector) => [...document.querySelectorAll(selector)].map((one) => {
  const box = one.getBoundingClientRect();
  return [box.width / 96 * 25.4, box.height / 96 * 25.4, parseFloat(getComputedStyle(one).fontSize) * .75];
})"""


def signed_in(page: Page, origin: str) -> None:
    page.goto(f"{origin}/sign-in")
    page.fill("[name=name]", GUIDE)
    page.fill("[name=secret]", PASSPHRASE)
    page.click("main button:has-text('Sign in')")
    page.wait_for_url("**/today*")


def told(data: bytes) -> tuple[int, set[str], str]:
    """Return how many pages a PDF has, its words, and its letters in a row: small capitals split words."""
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]
    text = unicodedata.normalize("NFKC", "\n".join(pages)).lower()
    # The seal of the trail: making a PDF is an entry too.
    text = re.sub(r"\d+-[0-9a-f]{12}", " ", text)
    return len(pages), set(re.findall(r"[a-z]{4,}", text)), "".join(re.findall(r"[a-z]", text))


def taken_away(page: Page, origin: str, paper: str) -> APIResponse:
    """Press the button of a print's PDF, and return what comes."""
    form = page.locator(f'form[data-action="make_pdf"]:has(button[value="{paper}"])')
    fields = {
        one.get_attribute("name") or "": one.input_value() for one in form.locator("input[type=hidden]").all()
    }
    return page.request.post(
        f"{origin}/prints/pdf", form={**fields, "paper": paper}, headers={"Origin": origin}
    )


def test_the_browser_prints_what_the_pdf_holds(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    ready_group(world)
    with serving(world.house) as origin:
        page = new_context().new_page()
        signed_in(page, origin)
        for path in SHEETS:
            page.goto(f"{origin}{path}")
            for paper, asked in PAPERS.items():
                count, words, letters = told(page.pdf(format=paper))
                made = taken_away(page, origin, asked)
                assert made.status == 200
                made_count, made_words, made_letters = told(made.body())
                assert count == made_count, (path, paper)
                lost = {one for one in words if one not in made_letters}
                assert lost | {one for one in made_words if one not in letters} == set(), (path, paper)
    world.house.close()


def test_a_slate_has_large_digits_and_boxes_for_a_pencil(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    ready_group(world)
    with serving(world.house) as origin:
        page = new_context().new_page()
        signed_in(page, origin)
        page.goto(f"{origin}/groups/1/plan/slate")
        page.emulate_media(media="print")
        boxes = page.evaluate(MILLIMETRES, ".slate .pencil")
        assert boxes and all(width >= 10 and height >= 10 for width, height, _ in boxes)
        figures = page.evaluate(MILLIMETRES, ".slate td, .slate th, .slate b")
        assert figures and all(size >= 13.99 for _, _, size in figures)
        assert len(PdfReader(io.BytesIO(page.pdf(format="Letter"))).pages) == 1
    world.house.close()
