"""A guest's form in every language, however it is read: few taps, nothing sideways, scripts or not."""

import sys
from collections.abc import Iterator
from itertools import count

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page, ViewportSize, expect

from app.records.guest_side.languages import complete_languages, shipped_languages, shipped_words
from app.records.health.signatures import signatures
from app.records.tables.parties import GuestRow
from tests.browser.guest import NAME, Guest, draw, in_the_hands_of
from tests.browser.hands import PHONE, TABLET, NewContext
from tests.browser.live import serving
from tests.browser.test_every_page import VIOLATIONS, WIDER_THAN_THE_WINDOW
from tests.groups_world import book
from tests.web_world import DAY, World, make_world

NARROW: ViewportSize = {"width": 320, "height": 568}
# A laptop of 1280 by 800 at 200 %: half as many pixels of the page, each drawn twice as large.
ZOOMED: ViewportSize = {"width": 640, "height": 400}
# From the choice of the language, which is the first tap, to the empty last page: one for the language, one
# to agree, one for each of 12 and 5 questions, one to sign. Typing the name twice is counted apart.
MOST_TAPS = 20
INK = """(sheet) => sheet.getContext("2d").getImageData(0, 0, sheet.width, sheet.height).data
  .some((dot) => dot)"""


class Guests:
    """A shop that is served, with a new guest for whoever asks."""

    def __init__(self, world: World, origin: str) -> None:
        self.world, self.origin, self._numbers = world, origin, count(1)

    def new(self, born: int = 1990, languages: str = "en") -> int:
        """Book one guest for the pool slot."""
        return book(self.world, f"Anouk {next(self._numbers)}", slot_id=3, born=born, languages=languages)[0]


@pytest.fixture(scope="session")
def guests(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Guests]:
    world = make_world(tmp_path_factory.mktemp("guests"))
    with serving(world.house) as origin:
        yield Guests(world, origin)
    world.house.close()


def not_wide(page: Page) -> None:
    """Nothing of the page lies beside the window."""
    wide = page.evaluate(WIDER_THAN_THE_WINDOW)
    assert not wide, f"{page.url}: {wide}"


def accessible(page: Page) -> None:
    """axe finds nothing."""
    page.evaluate(AXE_SCRIPT)
    found = page.evaluate(VIOLATIONS)
    assert not found, f"{page.url}: {found}"


@pytest.mark.parametrize("code", shipped_languages())
def test_the_form_in_each_language_on_the_narrowest_window(
    guests: Guests, new_context: NewContext, code: str
) -> None:
    assert code in complete_languages()
    words = shipped_words(code)

    def look(page: Page) -> None:
        not_wide(page)
        if "/guest/questions" in page.url or "/guest/done" in page.url:
            assert page.locator("html").get_attribute("lang") == code
            assert page.locator("html").get_attribute("dir") == words.direction
            assert (
                page.evaluate("getComputedStyle(document.querySelector('main')).direction") == words.direction
            )

    page = in_the_hands_of(guests.world, guests.origin, new_context(viewport=NARROW), guests.new())
    Guest(page, look=look).fill_in(code)
    expect(page.locator("h1")).to_have_text(words.gettext("Thank you"))


@pytest.mark.parametrize("code", ["en", "ar"])
def test_axe_finds_nothing_from_left_to_right_and_from_right_to_left(
    guests: Guests, new_context: NewContext, code: str
) -> None:
    page = in_the_hands_of(guests.world, guests.origin, new_context(viewport=TABLET), guests.new())
    Guest(page, look=accessible).fill_in(code)


@pytest.mark.parametrize("code", ["en", "ar"])
def test_the_form_at_two_hundred_per_cent(guests: Guests, new_context: NewContext, code: str) -> None:
    context = new_context(viewport=ZOOMED, device_scale_factor=2)
    page = in_the_hands_of(guests.world, guests.origin, context, guests.new())
    Guest(page, look=not_wide).fill_in(code)


def test_the_form_without_scripts(guests: Guests, new_context: NewContext) -> None:
    def look(page: Page) -> None:
        # The drawing needs scripts, so that there is no empty room where it would be.
        assert not page.locator("[data-signature]:visible").count()

    context = new_context(viewport=TABLET, java_script_enabled=False)
    page = in_the_hands_of(guests.world, guests.origin, context, guests.new())
    refresh = page.locator('noscript meta, meta[http-equiv="refresh"]')
    assert refresh.first.get_attribute("content") == "185;url=/guest/done"
    Guest(page, look=look).fill_in("de")
    expect(page.locator("h1")).to_have_text(shipped_words("de").gettext("Thank you"))


def test_an_all_no_form_takes_at_most_twenty_taps(
    guests: Guests, new_context: NewContext, capsys: pytest.CaptureFixture[str]
) -> None:
    context = new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    page = in_the_hands_of(guests.world, guests.origin, context, guests.new())
    guest = Guest(page, touch=True)
    guest.fill_in()
    expect(page.locator("h1")).to_have_text("Thank you")
    with capsys.disabled():
        sys.stdout.write(
            f"\n{guest.taps} taps from the language to the end, {guest.typed} boxes typed into\n"
        )
    assert guest.taps <= MOST_TAPS and guest.typed == 2


def test_the_form_by_keyboard_alone(guests: Guests, new_context: NewContext) -> None:
    page = in_the_hands_of(guests.world, guests.origin, new_context(viewport=TABLET), guests.new())

    def tab_to(selector: str) -> None:
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("(wanted) => document.activeElement.matches(wanted)", selector):
                assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
                return
        raise AssertionError(f"no way to {selector} at {page.url}")

    def go(selector: str, key: str = "Enter") -> None:
        tab_to(selector)
        with page.expect_navigation():
            page.keyboard.press(key)

    go('a[href="/guest/consent"]')
    tab_to('input[name="signed_name"]')
    page.keyboard.type(NAME)
    go('button[name="agree"]', "Space")
    while "/guest/questions/" in page.url:
        go('button[name="answer"][value="no"]')
    tab_to('input[name="signed_name"]')
    page.keyboard.type(NAME)
    tab_to("[data-signature] button")
    go('form[data-action="sign_form"] button[name="agree"]')
    expect(page.locator("h1")).to_have_text("Thank you")


@pytest.mark.parametrize("code", ["en", "ar"])
def test_a_drawn_signature_is_kept_as_drawn(guests: Guests, new_context: NewContext, code: str) -> None:
    guest_id = guests.new()
    page = in_the_hands_of(guests.world, guests.origin, new_context(viewport=TABLET), guest_id)
    guest = Guest(page)
    guest.speak(code)
    guest.agree()
    guest.answer_all()
    draw(page)
    kept = page.locator('input[name="drawing"]')
    assert len(kept.input_value()) > len("10,10 20,20 30,30")
    page.locator("[data-signature] button").click()
    expect(kept).to_have_value("")
    draw(page)
    # A signature without a name comes back with the drawing on it.
    guest.press(page.locator('form[data-action="sign_form"] button[name="agree"]'))
    expect(page.locator("#problem")).to_be_visible()
    drawn = kept.input_value()
    assert drawn and page.locator("canvas").evaluate(INK)
    guest.understand()
    guest.type("signed_name", NAME)
    guest.press(page.locator('form[data-action="sign_form"] button[name="agree"]'))
    expect(page.locator("h1")).to_have_text(shipped_words(code).gettext("Thank you"))
    with guests.world.house.store.reading() as session:
        row = session.get(GuestRow, guest_id)
        assert row is not None
        signed = signatures(session, guests.world.house, row, DAY)[0]
    first = drawn.split(" ")[0].replace(",", " ")
    assert signed.name == NAME and signed.path.startswith(f"M{first}L")


def test_a_child_answers_alone_and_the_guardian_signs(guests: Guests, new_context: NewContext) -> None:
    guest_id = guests.new(born=2011)
    page = in_the_hands_of(guests.world, guests.origin, new_context(viewport=TABLET), guest_id)
    seen = []

    def look(page: Page) -> None:
        accessible(page)
        if page.locator('a[href$="?alone=1"]').count():
            seen.append(page.locator("h1").inner_text())
            assert page.locator('a[href="/guest/not-today"]').count()

    guest = Guest(page, look=look)
    guest.speak("en")
    guest.agree()
    guest.answer_all()
    # Once for the history, once for the day.
    assert seen == ["The next question is for you alone"] * 2
    assert page.locator("dd", has_text="Answered, for you only").count() == 2
    guest.sign()
    assert page.url.endswith("/guest/guardian")
    accessible(page)
    guest.type("name", "Parent Vale")
    guest.type("phone", "555 0777")
    for name, value in (("relation", "parent"), ("place", "poolside"), ("id_seen", "yes"), ("rights", "yes"),
                        ("agree", "yes"), ("agree_health", "yes")):  # fmt: skip
        guest.choose(name, value)
    draw(page)
    guest.press(page.locator('form[data-action="sign_guardian"] button[type="submit"]'))
    expect(page.locator("h1")).to_have_text("Thank you")
    with guests.world.house.store.reading() as session:
        row = session.get(GuestRow, guest_id)
        assert row is not None
        by = {one.whose: one for one in signatures(session, guests.world.house, row, DAY)}
    assert by["guardian"].name == "Parent Vale" and by["guardian"].path and not by["guest"].path
