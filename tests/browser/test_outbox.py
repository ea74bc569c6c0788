"""The phone at the water without signal: every mark is kept, arrives once, in order; nobody is invented."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

from playwright.sync_api import BrowserContext, Page, Route, expect

from app.records.tables.water import CountRow
from app.records.water_side.counts import rounds_in
from app.web.cookies import COOKIE
from tests.browser.hands import PHONE, NewContext
from tests.browser.live import serving
from tests.water_world import rows_of
from tests.web_ready import GUIDE, Ready, ready_group
from tests.web_world import make_world

SLOWER = 6


@contextmanager
def at_the_water(tmp_path: Path, new_context: NewContext) -> Iterator[tuple[Ready, str, BrowserContext]]:
    """Give a group that has gone in, the shop's origin, and its guide's phone."""
    ready = ready_group(make_world(tmp_path))
    assert ready.go_in().status == 200
    ready.world.clock.pass_minutes(12)
    with serving(ready.world.house) as origin:
        yield ready, origin, phone_of(ready, origin, new_context)
    ready.world.house.close()


def phone_of(ready: Ready, origin: str, new_context: NewContext, name: str = GUIDE) -> BrowserContext:
    """Give a phone on which somebody is signed in."""
    phone = new_context(viewport=PHONE, has_touch=True)
    cookie = ready.world.browser(name).client.cookies[COOKIE]
    phone.add_cookies([{"name": COOKIE, "value": cookie, "url": origin}])
    return phone


def back_in(phone: BrowserContext, ready: Ready, origin: str, minutes_wrong: int = 0) -> Page:
    """Open the roll call in on a slow phone; its clock may be wrong."""
    page = phone.new_page()
    phone.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.clock.set_system_time(ready.world.clock() + timedelta(minutes=minutes_wrong))
    page.goto(f"{origin}{ready.at('/back')}")
    return page


def mark(page: Page, ready: Ready, name: str) -> None:
    """Tap a person's Back."""
    page.get_by_role("button", name=f"{name} is back").tap()
    expect(page.get_by_role("button", name=f"{name} is back")).not_to_be_visible()


def word(page: Page, said: str) -> None:
    """Wait for one of the three words."""
    expect(page.locator("#outbox [data-word]")).to_contain_text(said)


def marks_back(ready: Ready) -> list[tuple[str, str]]:
    """Return the marks "back" in the order of arrival: who, and what was odd."""
    names = {number: name for name, number in ready.members.items()}
    return [(names[row.member_id], row.flag) for row in ready.events() if row.event == "back"]


def test_a_run_without_signal_for_half_an_hour_arrives_once_and_in_order(
    tmp_path: Path, new_context: NewContext
) -> None:
    with at_the_water(tmp_path, new_context) as (ready, origin, phone):
        page = back_in(phone, ready, origin)
        mark(page, ready, "Bo")
        word(page, "At the shop")
        assert ready.in_water() == {GUIDE, "Ann"}
        phone.set_offline(True)
        mark(page, ready, "Ann")
        mark(page, ready, GUIDE)
        page.get_by_text("Count although").tap()
        page.get_by_label("How many people do you count").fill("3")
        page.get_by_role("button", name="Keep my count").tap()
        expect(page.locator("#outbox li")).to_contain_text("3")
        word(page, "On this phone")
        expect(page.locator("#outbox")).to_contain_text("3 entries")
        for name in ("Ann", GUIDE):
            row = page.locator(f"#person-{ready.members[name]}")
            expect(row).to_contain_text("on this phone")
            assert row.get_attribute("data-state") == "in", "only the shop says that somebody is back"
        assert ready.in_water() == {GUIDE, "Ann"}, "the shop waits"
        ready.world.clock.pass_minutes(30)
        phone.set_offline(False)
        word(page, "At the shop")
        expect(page.locator("main")).to_contain_text("Everyone is back")
        assert [name for name, _ in marks_back(ready)] == ["Bo", "Ann", GUIDE]
        assert [flag for _, flag in marks_back(ready)][1:] == ["sent late, or the phone's clock is wrong"] * 2
        assert ready.in_water() == set()
        heads = [(row.way, row.counted) for row in rows_of(ready, CountRow) if row.method == "heads"]
        assert heads == [("out", 3), ("in", 3)]
        expect(page.locator(f"#person-{ready.members['Ann']}")).to_contain_text("the phone said 09:12")


def test_a_tab_that_was_killed_sends_what_was_left_and_every_request_twice_is_one_mark(
    tmp_path: Path, new_context: NewContext
) -> None:
    def twice(route: Route) -> None:
        if route.request.method == "POST":
            route.fetch()
        route.continue_()

    with at_the_water(tmp_path, new_context) as (ready, origin, phone):
        page = back_in(phone, ready, origin)
        phone.set_offline(True)
        mark(page, ready, "Bo")
        mark(page, ready, "Ann")
        word(page, "On this phone")
        page.close(run_before_unload=False)
        phone.set_offline(False)
        assert ready.in_water() == {GUIDE, "Ann", "Bo"}
        phone.route("**/water/**", twice)
        again = back_in(phone, ready, origin)
        word(again, "At the shop")
        mark(again, ready, GUIDE)
        word(again, "At the shop")
        expect(again.locator("main")).to_contain_text("Everyone is marked by name")
        assert [name for name, _ in marks_back(ready)] == ["Bo", "Ann", GUIDE]


def test_a_wrong_clock_and_two_phones_on_one_group(tmp_path: Path, new_context: NewContext) -> None:
    with at_the_water(tmp_path, new_context) as (ready, origin, phone):
        page = back_in(phone, ready, origin, minutes_wrong=-7)
        other = phone_of(ready, origin, new_context, "Lena Lead")
        second = back_in(other, ready, origin)
        phone.set_offline(True)
        mark(page, ready, "Bo")
        mark(second, ready, "Bo")
        word(second, "At the shop")
        mark(second, ready, "Ann")
        word(second, "At the shop")
        assert ready.in_water() == {GUIDE}
        phone.set_offline(False)
        word(page, "At the shop")
        expect(page.locator("main")).to_contain_text("1 not marked as back")
        told = marks_back(ready)
        assert [name for name, _ in told] == ["Bo", "Ann", "Bo"], "both marks stay to be read"
        assert "was not in the water" in told[2][1] and "clock is wrong" in told[2][1]
        assert ready.in_water() == {GUIDE}
        with ready.world.house.store.reading() as session:
            assert rounds_in(session, ready.group_id) == ()


def test_what_the_shop_refuses_is_shown_and_who_signed_in_later_is_asked(
    tmp_path: Path, new_context: NewContext
) -> None:
    with at_the_water(tmp_path, new_context) as (ready, origin, phone):
        page = back_in(phone, ready, origin)
        phone.set_offline(True)
        mark(page, ready, "Bo")
        page.get_by_text("Count although").tap()
        page.get_by_label("How many people do you count").fill("many")
        page.get_by_role("button", name="Keep my count").tap()
        word(page, "On this phone")
        # Meanwhile another person signed in on this phone.
        page.clock.set_system_time(ready.world.clock() + timedelta(minutes=2))
        lena = ready.world.browser("Lena Lead").client.cookies[COOKIE]
        phone.add_cookies([{"name": COOKIE, "value": lena, "url": origin}])
        phone.set_offline(False)
        expect(page.locator("#outbox li").first).to_contain_text(f"Made by {GUIDE}")
        assert marks_back(ready) == [], "nothing is sent under another name by itself"
        page.get_by_role("button", name="Send it in my name").first.tap()
        expect(page.locator("main")).to_contain_text("2 not marked as back")
        page.get_by_role("button", name="Send it in my name").first.tap()
        expect(page.locator("#outbox li")).to_contain_text("The shop said")
        page.get_by_role("button", name="I have read this").tap()
        expect(page.locator("#outbox li")).to_have_count(0)
        (row,) = [one for one in ready.events() if one.event == "back"]
        assert row.by == "Lena Lead"


def test_without_scripts_nothing_of_it_shows(tmp_path: Path, new_context: NewContext) -> None:
    with at_the_water(tmp_path, new_context) as (ready, origin, _):
        plain = new_context(viewport=PHONE, java_script_enabled=False)
        cookie = ready.world.browser(GUIDE).client.cookies[COOKIE]
        plain.add_cookies([{"name": COOKIE, "value": cookie, "url": origin}])
        page = plain.new_page()
        page.goto(f"{origin}{ready.at('/back')}")
        expect(page.locator("#outbox")).to_be_hidden()
        page.get_by_role("button", name="Bo is back").click()
        expect(page.locator("#saved")).to_be_visible()
        assert [name for name, _ in marks_back(ready)] == ["Bo"]
