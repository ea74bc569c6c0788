"""A queue at the kit rail: a party of six in few taps, a scanner that types on, faults in two taps."""

from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from app.records.kit_rail import kit
from app.records.tables.kit import KitItemRow
from tests.browser.hands import PHONE, TABLET, NewContext, Person
from tests.browser.live import serving
from tests.groups_world import book
from tests.web.test_kit_rail import NEXT_YEAR
from tests.web_world import World, make_world

MOST_TAPS = 12
SMALLEST_TARGET = 44
SIZES = {"suit": "M", "jacket": "M", "boots": "41", "fins": "41", "mask": "medium", "regulator": ""}


@dataclass
class Finger:
    """Taps what is large enough for a finger, and counts."""

    page: Page
    taps: int = 0

    def tap(self, target: Locator) -> None:
        """Tap one thing."""
        expect(target).to_be_visible()
        box = target.bounding_box()
        assert box is not None and box["height"] >= SMALLEST_TARGET - 0.5, box
        target.tap()
        self.taps += 1


def shop_with_six(folder: Path) -> World:
    """A party of six at 10:30, and seven of everything in their size."""
    world = make_world(folder)
    book(world, "Ann", "Ben", "Cara", "Dov", "Eda", "Finn")
    with world.act() as act:
        for kind, size in SIZES.items():
            for n in range(1, 8):
                due = NEXT_YEAR if kind in ("jacket", "regulator") else None
                act.add(KitItemRow(kind=kind, number=f"{kind[0].upper()}{n}", size=size, service_due=due))
    return world


def numbers_of(world: World, guest_id: int) -> list[str]:
    """The numbers of what a guest has."""
    with world.house.store.reading() as session:
        return [loan.item.number for loan in kit.loans_of(session, [guest_id]).get(guest_id, [])]


def test_a_party_of_six_is_fitted_in_at_most_twelve_taps(tmp_path: Path, new_context: NewContext) -> None:
    world = shop_with_six(tmp_path)
    with serving(world.house) as origin:
        page = new_context(viewport=TABLET, has_touch=True).new_page()
        Person(page, origin, "Dora Desk").sign_in()
        finger = Finger(page)
        finger.tap(page.get_by_role("link", name="Kit rail").first)
        finger.tap(page.get_by_role("link", name="Fit the party of Ann Vale, 6 guests"))
        expect(page.locator("input[name$='-suit']")).to_have_count(6)
        # One exception, changed in place: its box is tapped, and the number on the other suit typed.
        odd = page.locator("input[name='3-suit']")
        finger.tap(odd)
        odd.fill("S7")
        finger.tap(page.get_by_role("button", name="Give all 36 pieces"))
        expect(page.locator("#saved")).to_contain_text("Kit of the party given out.")
        assert finger.taps <= MOST_TAPS
        assert all(len(numbers_of(world, guest)) == len(SIZES) for guest in range(1, 7))
        assert "S7" in numbers_of(world, 3)
        back = Finger(page)
        back.tap(page.locator("label", has_text="suit S7 (M)"))
        back.tap(page.get_by_role("button", name="What is ticked is back"))
        expect(page.locator("#saved")).to_contain_text("What was ticked is back.")
        assert back.taps <= MOST_TAPS and numbers_of(world, 3) == ["S7"] and numbers_of(world, 1) == []
        assert page.evaluate("document.querySelectorAll('*').length") <= 900
    world.house.close()


@pytest.mark.parametrize("scripts", [True, False])
def test_a_scanner_types_one_number_after_the_other(
    tmp_path: Path, new_context: NewContext, scripts: bool
) -> None:
    world = shop_with_six(tmp_path)
    with serving(world.house) as origin:
        page = new_context(viewport=TABLET, java_script_enabled=scripts).new_page()
        Person(page, origin, "Dora Desk").sign_in()
        page.goto(f"{origin}/kit")
        page.get_by_label("What is scanned").select_option(label="goes to Ben")
        page.get_by_label("Number or label").focus()
        for number in ("S1", f"{origin}/k/J2", "M3"):
            page.keyboard.type(number)
            page.keyboard.press("Enter")
            expect(page.locator("#saved")).to_contain_text(f"{number.rpartition('/')[2]} went to Ben.")
            expect(page.get_by_label("Number or label")).to_be_focused()
        assert numbers_of(world, 2) == ["S1", "J2", "M3"]
        page.keyboard.type("X9")
        page.keyboard.press("Enter")
        expect(page.locator("#problem")).to_contain_text("Nothing on the rail bears the number X9.")
        if scripts:
            # The wrong number is marked in its box, so that the next scan takes its place.
            expect(page.get_by_label("Number or label")).to_be_focused()
            page.keyboard.type("B1")
            page.keyboard.press("Enter")
            expect(page.locator("#saved")).to_contain_text("Boots B1 went to Ben.")
    world.house.close()


def test_a_fault_is_reported_in_two_taps_and_asked_about_afterwards(
    tmp_path: Path, new_context: NewContext
) -> None:
    world = shop_with_six(tmp_path)
    with serving(world.house) as origin:
        page = new_context(viewport=PHONE, has_touch=True, is_mobile=True).new_page()
        Person(page, origin, "Dora Desk").sign_in()
        page.goto(f"{origin}/kit")
        page.get_by_role("button", name="Give Ann").tap()
        expect(page.locator("#saved")).to_contain_text("Kit given out.")
        page.goto(f"{origin}/kit/guests/1")
        finger = Finger(page)
        finger.tap(page.locator("summary", has_text="of suit S1 (M)"))
        finger.tap(page.get_by_role("button", name="Something is wrong with suit S1 (M)"))
        expect(page.locator("h1")).to_have_text("Suit S1")
        expect(page.get_by_label("What is wrong, in one line")).to_be_visible()
        assert finger.taps == 2
        page.goto(f"{origin}/kit/items/2")
        Finger(page).tap(page.get_by_role("button", name="Something is wrong with it"))
        expect(page.locator("#saved")).to_contain_text("Item is out of use.")
        for path in ("/kit", "/kit/items/1", "/kit/stocktakes", "/kit/parties/1"):
            page.goto(f"{origin}{path}")
            assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], path
    world.house.close()
