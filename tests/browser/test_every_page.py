"""Every page of the demo shop, for every role: led to, light, accessible, quiet and narrow enough."""

import gzip
from collections.abc import Iterator

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import BrowserContext, Page, expect

from app.settings.config import STATIC
from tests.browser.crawl import Found, crawl, different, fullest, pages_for
from tests.browser.demo_shop import TODAY, WHO, DemoShop, demo_shop
from tests.browser.hands import LAPTOP, PHONE, TABLET, NewContext, Person, Watch

KIB = 1024
# Compressed weights in KiB. Today shows the whole day at once and may weigh more.
HTML_MOST, TODAY_MOST, CSS_MOST, SCRIPTS_MOST, PICTURES_MOST, FIRST_VIEW_MOST = 30, 40, 15, 40, 10, 110
ELEMENTS_MOST = 900
REQUESTS_MOST = 6
# The narrowest window that a zoomed phone or laptop shows.
NARROWEST = 320
WIDER_THAN_THE_WINDOW = """() => {
  const room = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= room) return [];
  const scrolls = (part) => part.closest('.scroll');
  return [...document.body.querySelectorAll('*')]
    .filter((part) => !scrolls(part) && part.getBoundingClientRect().right > room + 1)
    .map((part) => `${part.tagName.toLowerCase()}.${part.className}: ${part.textContent.trim().slice(0, 40)}`)
    .slice(0, 5).concat([`page is ${document.documentElement.scrollWidth} wide in ${room}`]);
}"""
# Only what is wrong is brought back: the whole answer of axe is large.
VIOLATIONS = """async () => (await axe.run({ resultTypes: ['violations'] })).violations.map(
  (one) => `${one.id} at ${one.nodes.slice(0, 3).map((node) => node.target.join(' ')).join(', ')}`
)"""
# Pages that no link leads every role to, with the reason.
NOT_LINKED = {
    "incident": "whoever writes one is led to it by the form; the list is the manager's",
    "review_party_page": "a reload of the review, which leads back to the start of booking",
    "review_earlier_dives_page": "shown once a list of dives was pasted",
    "look_at_sheet": "shown once a list of cylinders or kit was read",
    "cylinder_label": "the code on the cylinder leads there, and it leads on to the cylinder's page",
    "kit_label": "the code on the piece leads there, and it leads on to the piece's page",
    "station_list": "linked while a cylinder is away; the demo's are all at home",
    "stocktake": "linked while a stocktake is under way; the demo has none",
    "fill_batch": "whoever writes a batch is led to it",
    "call_flow": "whoever answers yes at an exit check is led to it; nobody of the demo did",
    "erasure_letter": "linked once a guest asked for erasing; nobody of the demo did",
    "breach": "linked once a breach is written down; the demo has none",
    "phone_linking": "whoever makes a link is led to it",
    "device_link": "the code that a phone scans leads there",
    "type_digits": "linked from the sign-in of a device that is not paired",
    "picture": "shown on the page of what it is about; the demo has none",
}


# For the whole session: tests with a browser are run in one go, which would end a module's fixtures early.
@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoShop]:
    with demo_shop(tmp_path_factory.mktemp("demo")) as opened:
        yield opened


@pytest.fixture(scope="session")
def pages(shop: DemoShop) -> list[Found]:
    return [page for role in WHO for page in crawl(shop.browsers[role], role, TODAY, ["/today"])]


def test_links_lead_each_role_to_every_page_that_is_open_to_it(pages: list[Found]) -> None:
    for role in WHO:
        reached = {page.route for page in pages if page.role == role}
        assert pages_for(role) - reached - set(NOT_LINKED) == set(), role


def test_pages_are_light(pages: list[Found]) -> None:
    for page in pages:
        most = TODAY_MOST if page.route == "today" else HTML_MOST
        weight = _weight(page.html.encode())
        assert weight <= most, f"{page.role} {page.path}: {weight:.1f} KiB"
        assert page.parts.elements <= ELEMENTS_MOST, (
            f"{page.role} {page.path}: {page.parts.elements} elements"
        )


def test_ids_are_unique(pages: list[Found]) -> None:
    for page in pages:
        assert len(set(page.parts.ids)) == len(page.parts.ids), f"{page.role} {page.path}"


def test_files_are_light() -> None:
    def of(kind: str) -> float:
        return sum(_weight(path.read_bytes()) for path in STATIC.rglob(f"*.{kind}"))

    assert 0 < of("css") <= CSS_MOST and 0 < of("js") <= SCRIPTS_MOST and 0 < of("svg") <= PICTURES_MOST
    assert of("css") + of("js") + of("svg") + TODAY_MOST <= FIRST_VIEW_MOST
    assert not [path for kind in ("woff*", "ttf", "otf") for path in STATIC.rglob(f"*.{kind}")]


def test_pages_are_accessible_and_quiet(shop: DemoShop, pages: list[Found], new_context: NewContext) -> None:
    watch = Watch(shop.origin)
    wrong: list[str] = []
    windows = {role: _window(new_context(viewport=LAPTOP), shop, role, watch) for role in WHO}
    for one in different(pages):
        page = windows[one.role]
        watch.asked.clear()
        page.set_viewport_size(LAPTOP)
        page.goto(f"{shop.origin}{one.path}")
        wrong += [f"{one.role} {one.path}: {fault}" for fault in [*_barriers(page), *_too_wide(page)]]
        assert len(watch.asked) <= REQUESTS_MOST, watch.asked
    assert wrong + watch.wrong == [], "\n".join(wrong + watch.wrong)


def test_no_role_has_a_page_wider_than_its_window(
    shop: DemoShop, pages: list[Found], new_context: NewContext
) -> None:
    watch = Watch(shop.origin)
    wrong: list[str] = []
    for role in WHO:
        page = _window(new_context(viewport=PHONE), shop, role, watch)
        for one in fullest(pages, role):
            page.goto(f"{shop.origin}{one.path}")
            wrong += [f"{role} {one.path}: {fault}" for fault in _too_wide(page)]
    assert wrong + watch.wrong == [], "\n".join(wrong + watch.wrong)


def test_the_checks_see_planted_faults(page: Page) -> None:
    """A check never seen red is no check: a page with a nameless button, too wide for its window."""
    page.set_content(
        '<!doctype html><html lang="en"><head><title>Planted</title></head><body><main><h1>Planted</h1>'
        '<button></button><p style="width:700px">Wide</p></main></body></html>'
    )
    assert [fault.partition(" at ")[0] for fault in _barriers(page)] == [
        "1280 px: button-name", "360 px: button-name",
    ]  # fmt: skip
    assert any("too wide: p" in fault for fault in _too_wide(page))


def test_a_guests_pages_and_problems_are_accessible(shop: DemoShop, new_context: NewContext) -> None:
    """Pages that no link of the team leads to: a guest's, a form come back, an address that is not there."""
    watch = Watch(shop.origin)
    wrong: list[str] = []
    desk = Person(_window(new_context(viewport=TABLET), shop, "desk", watch), shop.origin)

    def look() -> None:
        wrong.extend(f"{desk.page.url}: {one}" for one in [*_barriers(desk.page), *_too_wide(desk.page)])
        desk.page.set_viewport_size(TABLET)

    desk.page.goto(f"{shop.origin}/nowhere")
    look()
    desk.page.goto(f"{shop.origin}/welcome/book")
    desk.page.get_by_role("link", name="Book 2 people").first.click()
    desk.send("review_party", press="Look it over")
    expect(desk.page.locator("#problem")).to_be_visible()
    look()
    # A child, so that the guardian's page comes too.
    desk.page.goto(f"{shop.origin}/welcome")
    desk.page.get_by_role("link", name="Berit Nørhaven").first.click()
    look()
    desk.page.get_by_role("button", name="Hand the tablet to Svea").click()
    expect(desk.page.locator("h1")).to_have_text("Hello Svea")
    look()
    desk.follow("I would rather not dive today")
    look()
    desk.follow("Back")
    desk.follow("Start")
    desk.send("agree_health_data")
    look()
    desk.done("agree_health_data", signed_name="Svea Nørhaven")
    look()
    while "/guest/review" not in desk.page.url:
        # A child's private questions come behind a page of their own.
        alone = desk.page.locator('a[href$="?alone=1"]')
        if alone.count():
            look()
            alone.click()
        desk.done("answer_question", press="No")
    look()
    desk.done("sign_form", signed_name="Svea Nørhaven")
    look()
    desk.send("sign_guardian")
    look()
    desk.done("hand_back")
    expect(desk.page.locator("h1")).to_have_text("Thank you")
    look()
    desk.follow("For the shop: sign in")
    look()
    desk.send("sign_in", name="Odile Marsh", secret="not hers")
    look()
    assert wrong + watch.wrong == [], "\n".join(wrong + watch.wrong)


def _window(context: BrowserContext, shop: DemoShop, role: str, watch: Watch) -> Page:
    shop.lend(context, role)
    page = context.new_page()
    watch.over(page)
    return page


def _barriers(page: Page) -> list[str]:
    """Return what axe finds on a page, in a laptop's window and in a phone's."""
    found = []
    page.evaluate(AXE_SCRIPT)
    for size in (LAPTOP, PHONE):
        page.set_viewport_size(size)
        found += [f"{size['width']} px: {violation}" for violation in page.evaluate(VIOLATIONS)]
    return found


def _too_wide(page: Page) -> list[str]:
    """Return what makes a page scroll sideways in a phone's window or a narrower one."""
    found = []
    for width in (PHONE["width"], NARROWEST):
        page.set_viewport_size({"width": width, "height": PHONE["height"]})
        found += [f"{width} px: too wide: {part}" for part in page.evaluate(WIDER_THAN_THE_WINDOW)]
    return found


def _weight(content: bytes) -> float:
    return len(gzip.compress(content)) / KIB
