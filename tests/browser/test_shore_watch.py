"""The shore watch at a window: it fits a phone, and its sound is off until a person here wants it."""

from pathlib import Path

from playwright.sync_api import expect

from tests.browser.hands import PHONE, NewContext, Person, Watch
from tests.browser.live import serving
from tests.web_ready import ready_group
from tests.web_world import make_world


def test_sound_is_a_choice_and_the_watch_fits_a_phone(tmp_path: Path, new_context: NewContext) -> None:
    ready = ready_group(make_world(tmp_path))
    ready.go_in()
    with serving(ready.world.house) as origin:
        page = new_context(viewport=PHONE, has_touch=True).new_page()
        watch = Watch(origin)
        watch.over(page)
        desk = Person(page, origin, "Dora Desk")
        desk.sign_in()
        desk.follow("3 in the water")
        sound = page.get_by_role("button", name="Sound when somebody is late")
        expect(sound).to_have_attribute("aria-pressed", "false")
        sound.tap()
        expect(page.get_by_role("button", name="Sound is on: switch it off")).to_have_attribute(
            "aria-pressed", "true"
        )
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        assert watch.wrong == []
    ready.world.house.close()
