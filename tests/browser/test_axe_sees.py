"""The accessibility check finds planted faults: a check never seen red is no check."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

FAULTY = """<!doctype html><html><head><title></title></head><body>
<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">
<form><input type="text" name="name"><button></button></form>
<p style="color:#bbb;background:#fff">Too pale to read on a bright beach</p>
</body></html>"""

SOUND = """<!doctype html><html lang="en"><head><title>Groups of the day</title></head><body><main>
<h1>Groups</h1>
<form><label for="name">Name</label><input id="name" name="name"><button>Keep</button></form>
</main></body></html>"""


def _rules_broken(page: Page, html: str) -> set[str]:
    page.set_content(html)
    return {violation["id"] for violation in Axe().run(page).response["violations"]}


def test_axe_finds_planted_faults(page: Page) -> None:
    planted = {"image-alt", "label", "button-name", "html-has-lang", "document-title", "color-contrast"}
    assert planted <= _rules_broken(page, FAULTY)


def test_axe_passes_a_sound_page(page: Page) -> None:
    assert _rules_broken(page, SOUND) == set()
