"""One day of a fresh small shop, told scene by scene through the windows of the people who work there.

Every scene is what one person does at one device. The same scenes are played with scripts on and off.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page, ViewportSize, expect

from app.rules.briefing import BRIEFING, KIT_CHECK
from app.rules.emergency_kit import ITEMS
from tests.browser.hands import LAPTOP, PHONE, TABLET, NewContext, Person, Watch
from tests.web_world import DAY, World

GUESTS = ("Anouk", "Bastian")
CYLINDERS = ("11", "12", "13", "14")
START_BAR = {"Ines Instructor": 201, "Anouk": 199, "Bastian": 203}
END_BAR = {"Ines Instructor": 148, "Anouk": 118, "Bastian": 107}
# A person answers more questions than any form has.
MOST_QUESTIONS = 90


@dataclass
class Day:
    """The shop on one day, and the windows of its people."""

    world: World
    origin: str
    watch: Watch
    # The tablet is one window for whoever holds it.
    tablet: Page
    manager: Person
    desk: Person
    instructor: Person
    lead: Person
    slot_id: int = 1
    group_id: int = 0


def open_windows(world: World, origin: str, new_context: NewContext, **how: Any) -> Day:
    """Open the tablet, the instructor's phone, the lead's phone and the manager's laptop."""
    watch = Watch(origin)

    def window(size: ViewportSize) -> Page:
        page = new_context(viewport=size, **how).new_page()
        watch.over(page)
        return page

    tablet = window(TABLET)
    return Day(
        world,
        origin,
        watch,
        tablet,
        manager=Person(window(LAPTOP), origin, "Mona Manager"),
        desk=Person(tablet, origin, "Dora Desk"),
        instructor=Person(window(PHONE), origin, "Ines Instructor"),
        lead=Person(window(PHONE), origin, "Lena Lead"),
    )


def tell(day: Day, in_the_water: Callable[[Day], None] | None = None) -> None:
    """Tell the whole day; ``in_the_water`` looks around while the group is under water."""
    clock = day.world.clock
    pair_the_tablet(day)
    add_cylinders(day)
    add_kit(day)
    check_the_emergency_kit(day)
    book_the_party(day)
    for guest in GUESTS:
        fill_the_guest_form(day, guest)
    fill_cylinders(day)
    look_at_the_water(day)
    make_the_group(day)
    give_kit_and_lead(day)
    give_cylinders(day)
    issue_the_plan(day)
    clock.pass_minutes(70)
    get_ready(day)
    day.manager.go("/today/water")
    assert "Nobody is in the water" in day.manager.words()
    go_in(day)
    if in_the_water is not None:
        in_the_water(day)
    clock.pass_minutes(18)
    come_back(day)
    clock.pass_minutes(10)
    wrap_up(day)
    take_the_kit_back(day)
    clock.pass_minutes(300)
    close_the_day(day)


def pair_the_tablet(day: Day) -> None:
    """The manager pairs the tablet, deals the desk a PIN, and leaves the tablet to the desk."""
    manager = Person(day.tablet, day.origin, "Mona Manager")
    manager.go("/setup/devices")
    manager.done("pair_device", name="Front desk tablet", kind="tablet")
    assert "This one is paired as Front desk tablet" in manager.words()
    manager.go("/setup/people")
    manager.follow("Dora Desk")
    manager.done("new_pin")
    pin = day.tablet.locator("p.number").inner_text().strip()
    manager.follow("The person has it")
    manager.done("sign-out")
    day.desk.secret = pin


def add_cylinders(day: Day) -> None:
    """The manager adds the shop's cylinders and the test of the compressor's air, at the laptop."""
    manager = day.manager
    for number in CYLINDERS:
        manager.go("/gas/cylinders/new")
        manager.done(
            "add_cylinder", number=number, litres="12", working_pressure_bar="232", material="steel",
            last_visual_day="1", last_visual_month="3", last_visual_year="2026",
            last_pressure_test_day="1", last_pressure_test_month="3", last_pressure_test_year="2025",
        )  # fmt: skip
        assert f"Cylinder {number}" in manager.words()
    manager.go("/gas/compressor")
    manager.done(
        "add_air_test", tested_on_day="1", tested_on_month="7", tested_on_year="2026", report="Air test 7",
        result="passed",
    )  # fmt: skip


def add_kit(day: Day) -> None:
    """The manager hangs masks and suits on the rail."""
    manager = day.manager
    for number in ("M1", "M2"):
        manager.go("/kit/items/new?kind=mask")
        manager.done("add_kit_item", number=number, size="medium")
    for number in ("A1", "A2"):
        manager.go("/kit/items/new?kind=suit")
        manager.done("add_kit_item", number=number, size="M", thickness_mm="5")


def check_the_emergency_kit(day: Day) -> None:
    """The instructor looks through the emergency kit, at the phone."""
    phone = day.instructor
    phone.go("/today")
    phone.follow("Check it")
    answers = {f"item_{item.key}": "works" for item in ITEMS}
    phone.done("check_emergency_kit", oxygen_bar="200", oxygen_cylinder_litres="5", **answers)
    assert "complete" in phone.words() and "1000 L of oxygen" in phone.words()


def book_the_party(day: Day) -> None:
    """The desk books two people who stand at the counter, and is paid."""
    desk = day.desk
    desk.go("/today")
    desk.follow("Welcome")
    desk.follow("Book a party")
    desk.follow("Book 2 people at 10:30")
    guests: dict[str, str] = {}
    for number, (name, mass) in enumerate(zip(GUESTS, ("64", "81"), strict=True), 1):
        p = f"g{number}_"
        guests |= {
            f"{p}full_name": f"{name} Vale", f"{p}birth_day": "27", f"{p}birth_month": "3",
            f"{p}birth_year": "1995", f"{p}height_cm": "172", f"{p}mass_kg": mass, f"{p}shoe_size": "41",
            f"{p}languages": "English, French", f"{p}swimming": "some",
            f"{p}flight": "none",
        }  # fmt: skip
    desk.done(
        "review_party", press="Look it over", walk_in="yes", contact_name="Anouk Vale", phone="555 0123",
        emergency_name="Remy Vale", emergency_phone="555 0911", **guests,
    )  # fmt: skip
    assert "Nothing is stored yet" in desk.words()
    desk.done("book_party", press="Book 2 people")
    assert "Party of Anouk Vale" in desk.words()
    desk.done("mark_paid")


def hand_over(day: Day, guest: str) -> None:
    """The desk hands the tablet to one guest of the party."""
    day.desk.go("/welcome")
    day.desk.follow("Anouk Vale")
    day.tablet.get_by_role("button", name=f"Hand the tablet to {guest}").click()
    expect(day.tablet.locator("h1")).to_have_text(f"Hello {guest}")


def fill_the_guest_form(day: Day, guest: str) -> None:
    """The desk hands the tablet over; the guest answers No to everything, signs, and hands it back."""
    desk, page = day.desk, day.tablet
    hand_over(day, guest)
    page.get_by_role("link", name="Start").click()
    desk.done("agree_health_data", signed_name=f"{guest} Vale")
    for _ in range(MOST_QUESTIONS):
        if "/guest/review" in page.url:
            break
        desk.done("answer_question", press="No")
    expect(page.locator("h1")).to_have_text("Check your answers and sign")
    desk.done("sign_form", press="Sign and finish", signed_name=f"{guest} Vale")
    expect(page.locator("h1")).to_have_text("Thank you")


def fill_cylinders(day: Day) -> None:
    """The instructor fills all cylinders in one batch and reads one of them once more."""
    phone = day.instructor
    phone.go("/gas/fill")
    picks = [box.get_attribute("value") or "" for box in phone.page.locator("input[name=pick]").all()]
    assert len(picks) == len(CYLINDERS)
    starts = {f"start_{pick}": "40" for pick in picks}
    phone.done("fill_several", pick=picks, end_bar="210", temp_c="24", **starts)
    phone.go("/gas")
    phone.follow(CYLINDERS[0])
    phone.done("read_cylinder", bar="206", temp_c="18")
    assert "206 bar" in phone.words()


def look_at_the_water(day: Day) -> None:
    """The lead looks at the water and grades it."""
    lead = day.lead
    lead.go(f"/groups/slots/{day.slot_id}")
    lead.done(
        "look_at_water", grade="good", visibility_m="9", current_m_s="0.1", sea="calm", water_temp_c="17"
    )
    assert "good" in lead.words()


def make_the_group(day: Day) -> None:
    """The lead puts both guests with one guide and names who watches from ashore."""
    lead = day.lead
    lead.go("/groups")
    lead.follow("Make a group")
    page = lead.page
    guests = [box.get_attribute("value") or "" for box in page.locator("input[name=guests]").all()]
    assert len(guests) == len(GUESTS)
    lead.done(
        "make_group", name="A", guests=guests, guide=_option(page, "guide", "Ines Instructor"),
        surface_watch=_option(page, "surface_watch", "Ivo Instructor"), depth_m="6", minutes="15",
    )  # fmt: skip
    lead.follow("Plan of group A")
    day.group_id = int(page.url.split("/groups/")[1].split("/")[0])


def give_kit_and_lead(day: Day) -> None:
    """The desk gives each guest what fits and writes the lead down that was given."""
    desk = day.desk
    desk.go("/today")
    desk.follow("Kit rail")
    for _ in GUESTS:
        row = day.tablet.locator('[data-state="no-kit"]').first
        desk.done_in(row.locator('form[data-action="give_kit"]'))
    for guest in GUESTS:
        desk.go("/kit")
        # The party's own link carries the name of its contact, who is a guest too.
        day.tablet.locator("[data-person]").get_by_role("link", name=guest, exact=True).click()
        expect(day.tablet.locator("h1")).to_have_text(f"Kit of {guest}")
        assert "Suggested:" in desk.words()
        # A suggestion is not an answer: the box is empty until somebody types.
        assert desk.form("give_weights").locator("[name=given_kg]").input_value() == ""
        desk.done("give_weights", given_kg="6")
        assert "6 kg given" in desk.words()


def take_the_kit_back(day: Day) -> None:
    """The desk takes everything of each guest back, lead too."""
    desk = day.desk
    desk.go("/kit?slot=1")
    for guest in GUESTS:
        form = day.tablet.locator('form[data-action="take_back_all_kit"]').filter(has_text="All back")
        assert form.count() == len(GUESTS) - GUESTS.index(guest)
        desk.done_in(form.first)
    assert desk.people() == dict.fromkeys(GUESTS, "no-kit")


def give_cylinders(day: Day) -> None:
    """The desk gives each person of the group the cylinder that the page suggests."""
    desk = day.desk
    desk.go("/gas")
    desk.follow("Give out and take back")
    for _ in START_BAR:
        row = day.tablet.locator('[data-state="no-cylinder"]').first
        desk.done_in(row.locator('form[data-action="give_cylinder"]'))
    assert "Everybody of this slot has a cylinder" in desk.words()


def issue_the_plan(day: Day) -> None:
    """The instructor looks at the plan and issues it."""
    phone = day.instructor
    phone.go("/water")
    phone.follow("10:30 Group A")
    phone.follow("Plan the dive")
    rules = {e.get_attribute("data-rule") for e in phone.page.locator("[data-rule]").all()}
    assert {"turn_pressure", "end_pressure_min", "depth_plan_default", "ascent_rate_max"} <= rules
    words = phone.words()
    assert "not permission to dive" in words and "no plan issued" in words
    assert "Any other dive in the last 24 hours" in words
    phone.done("say_no_other_dive")
    assert "100 bar" in phone.page.locator('.figure[data-rule="turn_pressure"]').inner_text()
    assert "bar" in phone.page.locator('.figure[data-rule="end_pressure_min"]').inner_text()
    phone.done("issue_plan")
    assert (
        phone.page.locator("h1").inner_text().startswith("Plan 1")
        and "It stays as it was issued" in phone.words()
    )


def get_ready(day: Day) -> None:
    """The instructor briefs, checks kit, looks at each guest, signs skills and reads start pressures."""
    phone, at = day.instructor, f"/water/{day.group_id}"
    phone.go(at)
    answers: dict[str, str] = {}
    for item in BRIEFING:
        if item.states:
            answers[item.key] = item.states[0]
        else:
            # The figure that the page tells the guide to say.
            hint = phone.form("answer_briefing").locator(f"#f-{item.key}-hint").inner_text()
            answers[item.key] = hint.removeprefix("Said to everyone:").split()[0]
    phone.done("answer_briefing", **answers)
    for number in range(len(START_BAR)):
        phone.page.locator("#kit-check .person a").nth(number).click()
        phone.done("check_kit", **{item.key: item.states[0] for item in KIT_CHECK})
    phone.done("second_look", second=_option(phone.page, "second", "Ivo Instructor"))
    phone.done("all_in_order")
    phone.done_in(phone.page.locator('form[data-action="sign_skills"]').first)
    phone.done("read_pressures", **_bars(phone, START_BAR))
    assert "Everything asked is answered. You decide." in phone.words()


def go_in(day: Day) -> None:
    """Roll call out: each person by name, then the heads."""
    phone = day.instructor
    phone.go(f"/water/{day.group_id}/out")
    boxes = phone.page.locator("[data-person]").all()
    choices = {f"member_{box.get_attribute('data-person')}": "in" for box in boxes}
    assert len(choices) == len(START_BAR)
    phone.done("go_in", heads=str(len(choices)), **choices)
    assert phone.people() == dict.fromkeys(START_BAR, "in")


def come_back(day: Day) -> None:
    """Roll call in: each person by name, and two counts by two people who do not look at each other."""
    phone, desk, everybody = day.instructor, day.desk, len(START_BAR)
    phone.go(f"/water/{day.group_id}/back")
    for left in range(everybody, 0, -1):
        assert f"{left} not marked as back" in phone.words()
        if left == 1:
            # The desk counts while one name is still open: the number alone brings nobody back.
            _count(desk, day, everybody)
            assert "Everyone is back" not in desk.words() and "1 not marked as back" in desk.words()
        row = phone.page.locator('[data-person][data-state="in"]').first
        phone.done_in(row.locator('form[data-action="mark_back"]'))
    assert phone.people() == dict.fromkeys(START_BAR, "back")
    _count(phone, day, everybody)
    assert "Everyone is back" in phone.words() and "Both counts agree" in phone.words()
    desk.go(f"/water/{day.group_id}/back")
    assert "Everyone is back" in desk.words()


def wrap_up(day: Day) -> None:
    """End pressures, what the dive was like, and the cylinders back into the gas room."""
    phone = day.instructor
    phone.go(f"/water/{day.group_id}/wrap")
    phone.done("read_pressures", **_bars(phone, END_BAR))
    phone.done("write_dive", depth="5.8", ascent="slower", stop="yes", anything="nothing")
    phone.done("close_dive")
    assert "Closed at" in phone.words()
    phone.done("cylinders_back")
    assert "Cylinders are back" in phone.words()


def close_the_day(day: Day) -> None:
    """The manager reads the day's gas and closes it."""
    manager = day.manager
    manager.go("/look-back/gas")
    assert all(f"{bar} bar" in manager.words() for bar in END_BAR.values())
    manager.go("/look-back")
    words = manager.words()
    assert "Breathed" in words
    assert "Nothing is open" in words, words
    manager.done("close_day", note="A calm day.")
    assert "Closed by Mona Manager" in manager.words()


def read_the_day_sheet(day: Day) -> None:
    """Every group of the day stands on the day sheet, with pressures and states."""
    manager = day.manager
    manager.go(f"/days/{DAY}/sheet")
    words = manager.words()
    assert "Closed by Mona Manager" in words and "Plan 1" in words
    for name, bar in END_BAR.items():
        assert name in words and f"{bar} bar" in words and f"{START_BAR[name]} bar" in words


def _option(page: Page, name: str, label: str) -> str:
    option = page.locator(f'select[name="{name}"] option').filter(has_text=label).first
    return option.get_attribute("value") or ""


def _bars(person: Person, bars: dict[str, int]) -> dict[str, str]:
    fields = {}
    for name, bar in bars.items():
        box = person.form("read_pressures").locator('input[name^="bar_"]')
        label = person.form("read_pressures").get_by_label(name).and_(box)
        fields[label.get_attribute("name") or ""] = str(bar)
    return fields


def _count(person: Person, day: Day, people: int) -> None:
    person.go(f"/water/{day.group_id}/back")
    # A head count is never suggested.
    assert person.form("count_heads").locator("[name=counted]").input_value() == ""
    person.done("count_heads", counted=str(people))
