"""What every page stands on: C1 to C4, H5, J1, J3 as seen by a browser."""

import re
from datetime import UTC, datetime, timedelta
from urllib.parse import quote

import pytest
from sqlalchemy import inspect, text
from sqlmodel import select

from app.actions import team
from app.actions.sign_in import hash_secret, judge_passphrase
from app.records.shop import shop_row
from app.records.tables.groups import GroupRow
from app.records.tables.house import SiteRow
from app.records.tables.people import PersonRow, WrongTryRow
from tests.groups_world import book, group_of, members_of, water_event
from tests.web_world import BASE, PASSPHRASE, Browser, Page, World

WRONG_PIN = "000000"


def paired(world: World, name: str = "Front desk tablet") -> Browser:
    """Return the browser of a device that the manager paired and then left."""
    browser = world.browser("Mona Manager")
    browser.open("/setup/devices").send("pair_device", name=name, kind="tablet")
    browser.open("/today").send("sign-out")
    return browser


def pin_of(world: World, name: str) -> str:
    """Deal a PIN to somebody."""
    with world.act() as act:
        person = act.session.exec(select(PersonRow).where(PersonRow.name == name)).one()
        return team.new_pin(act, person.id or 0)


def try_pin(browser: Browser, name: str, secret: str) -> Page:
    """Try to sign in."""
    return browser.open("/sign-in").send("sign_in", name=name, secret=secret)


def test_c1_only_a_paired_device_names_the_team(world: World) -> None:
    assert "Dora Desk" not in world.browser().open("/sign-in").text
    assert "Dora Desk" in paired(world).open("/sign-in").text


def test_c1_names_of_every_script_sign_in_whatever_their_case(world: World) -> None:
    with world.act() as act:
        hashed = hash_secret(world.house, PASSPHRASE)
        for name in ("Élodie Ørsted", "Ирина Маяк", "李 明"):
            act.add(PersonRow(name=name, roles="desk", passphrase_hash=hashed))
    for typed in ("élodie ØRSTED", "E\u0301lodie Ørsted", "ирина маяк", "李 明"):
        assert "/today" in world.browser().sign_in(typed).url, typed


@pytest.mark.parametrize(
    ("passphrase", "allowed"),
    [
        ("harbour lamp gravel seven", True),
        ("x7#Lq2!vRt9$wNz", True),
        ("short", False),
        ("fourteen chars", False),
        ("a" * 129, False),
        ("gravel lamp " * 10 + "sevenfold", False),
        ("gravel lamp " * 10 + "seven", True),
        ("Harbour Steps 2026!", False),
        ("harboursteps harboursteps", False),
        ("passwordpassword", False),
        ("Password 123456789", False),
        ("1234567890123456", False),
        ("qwertyuiopasdfgh", False),
        ("abcabcabcabcabcabc", False),
        ("\u00e9" * 5 + " gravel lamp boat", True),
        ("e\u0301" * 5 + "gravel la", False),
        ("灯台 砂利 七つ 港の 階段です ね え", True),
    ],
)
def test_c2_a_passphrase_is_long_and_not_the_first_guess(passphrase: str, allowed: bool) -> None:
    assert (judge_passphrase(passphrase, "Harbour Steps") is None) is allowed


def test_c2_a_passphrase_is_taken_whole_and_its_form_of_writing_does_not_matter(world: World) -> None:
    with world.act() as act:
        person = act.session.exec(select(PersonRow).where(PersonRow.name == "Dora Desk")).one()
        team.change_passphrase(act, person.id or 0, "  caf\u00e9 lamp gravel seven  ")
    assert try_pin(world.browser(), "Dora Desk", "caf\u00e9 lamp gravel seven").status == 422
    assert "/today" in try_pin(world.browser(), "Dora Desk", "  cafe\u0301 lamp gravel seven  ").url


def test_c3_a_dealt_pin_is_shown_once_and_lies_nowhere(world: World) -> None:
    manager = world.browser("Mona Manager")
    page = manager.open("/setup/people/1").send("new_pin")
    pin = "".join(page.find("p", **{"class": "number"})[0].itertext()).strip()
    assert re.fullmatch(r"\d{6}", pin)
    assert pin not in manager.open("/setup/people/1").text
    with world.house.store.engine.connect() as connection:
        for name in inspect(connection).get_table_names():
            for row in connection.execute(text(f'SELECT * FROM "{name}"')):
                assert pin not in [str(value) for value in row], name
                assert f'"{pin}"' not in str(row), name
    tablet = paired(world)
    assert try_pin(world.browser(), "Dora Desk", pin).status == 422, "not on a device that is not paired"
    signed_in = try_pin(tablet, "Dora Desk", pin)
    assert "/today" in signed_in.url


def test_c3_a_pin_is_for_day_work_only(world: World) -> None:
    tablet, pin = paired(world), pin_of(world, "Mona Manager")
    try_pin(tablet, "Mona Manager", pin)
    page = tablet.open("/setup/devices")
    assert page.find("input", name="confirm"), "the passphrase is asked for"
    assert page.send("end_device", at="/setup/devices/1/end").status == 422
    assert page.send("pair_device", name="Other", kind="phone", confirm=pin).status == 422
    assert tablet.open("/setup/people/1").send("new_pin").status == 422
    assert tablet.open("/setup/people/1").send("new_pin", confirm=PASSPHRASE).status == 200
    page = tablet.open("/setup/devices")
    assert page.find("button") and not page.find("input", name="confirm"), "typed once, it stands ten minutes"
    world.clock.pass_minutes(4)
    tablet.open("/today")
    world.clock.pass_minutes(4)
    tablet.open("/today")
    world.clock.pass_minutes(3)
    assert tablet.open("/setup/devices").find("input", name="confirm")


def test_c4_guessing_at_a_passphrase_asked_for_again_counts_as_well(world: World) -> None:
    manager = world.browser("Mona Manager")
    world.clock.pass_minutes(11)
    for _ in range(5):
        page = manager.open("/setup/people/1").send("new_pin", confirm="not these words at all")
        assert page.status == 422
    page = manager.open("/setup/people/1").send("new_pin", confirm=PASSPHRASE)
    assert page.status == 429 and "Wait" in page.words()
    world.clock.pass_minutes(1)
    assert manager.open("/setup/people/1").send("new_pin", confirm=PASSPHRASE).status == 200


def test_c4_waits_double_up_to_a_quarter_of_an_hour_and_survive_a_restart(world: World) -> None:
    browser, waits = world.browser(), []
    for _ in range(12):
        page = try_pin(browser, "Dora Desk", "not these words at all")
        if page.status == 429:
            waits.append(int(page.headers["retry-after"]))
            world.clock.at += timedelta(seconds=waits[-1])
    assert waits[:4] == [30, 60, 120, 240]
    assert max(waits) <= 15 * 60
    assert try_pin(browser, "Nobody Here", "not these words at all").status == 422
    again = try_pin(world.browser(), "Dora Desk", PASSPHRASE)
    assert "/today" in again.url, "the wait is over, and the right words count"


def test_c4_twenty_wrong_tries_on_a_device_end_pins_there_for_an_hour(world: World) -> None:
    tablet, other = paired(world), paired(world, "Water side phone")
    pin = pin_of(world, "Dora Desk")
    for name in ("Ines Instructor", "Ivo Instructor", "Lena Lead", "Kim Keeper"):
        for _ in range(5):
            assert try_pin(tablet, name, WRONG_PIN).status == 422
    refused = try_pin(tablet, "Dora Desk", pin)
    assert refused.status == 422 and "type your passphrase" in refused.words()
    assert "/today" in try_pin(other, "Dora Desk", pin).url, "another device goes on"
    assert "/today" in try_pin(tablet, "Dora Desk", PASSPHRASE).url
    tablet.open("/today").send("sign-out")
    world.clock.pass_minutes(61)
    assert "/today" in try_pin(tablet, "Dora Desk", pin).url


def test_c4_a_hundred_wrong_tries_in_a_row_end_a_pin_for_good(world: World) -> None:
    pin = pin_of(world, "Dora Desk")
    tablets = [paired(world, f"Tablet {number}") for number in range(2)]
    with world.house.store.writing() as session:
        for number in range(99):
            session.add(WrongTryRow(who="dora desk", device=f"device:{number % 7 + 10}", at=world.clock()))
    assert "/today" in try_pin(tablets[0], "Dora Desk", pin).url, "ninety-nine are forgotten by the right one"
    tablets[0].open("/today").send("sign-out")
    world.clock.pass_minutes(1)
    with world.house.store.writing() as session:
        for number in range(99):
            session.add(WrongTryRow(who="dora desk", device=f"device:{number % 7 + 10}", at=world.clock()))
    assert try_pin(tablets[1], "Dora Desk", WRONG_PIN).status == 422
    assert try_pin(tablets[0], "Dora Desk", pin).status == 422
    assert "/today" in try_pin(tablets[0], "Dora Desk", PASSPHRASE).url
    tablets[0].open("/today").send("sign-out")
    fresh = pin_of(world, "Dora Desk")
    assert "/today" in try_pin(tablets[0], "Dora Desk", fresh).url


def test_j1_numbers_and_days_that_cannot_be_are_not_here(world: World) -> None:
    browser = world.browser("Mona Manager")
    for path in (
        "/parties/99999999999999999999", "/parties/2147483648", "/parties/-1", "/groups/9223372036854775808",
        "/today?day=0001-01-01", "/today?day=9999-12-31", "/today?day=2026-02-30", "/today?day=soon",
        f"/parties/{quote('²')}", "/parties/1e9",
    ):  # fmt: skip
        assert browser.open(path).status == 404, path
    for query in (quote("²"), "99999999999", "-1", quote("٣"), "x"):
        assert browser.open(f"/today?done={query}").status == 200, query
    to, pairs = browser.open("/setup/sites").form_fields("edit_site", "/setup/sites/1")
    for version in ("²", "99999999999999", "-1", ""):
        sent = [(name, version if name == "version" else value) for name, value in pairs]
        assert browser.post(to, sent).status == 409, version
    assert browser.open("/setup/sites").status == 200


def test_j3_every_script_is_stored_in_one_form_and_shown_as_typed(world: World) -> None:
    browser = world.browser("Mona Manager")
    names = ("Cafe\u0301 quay", "👩‍🚀 rock", "שלום quay", "नमस्ते", "=1+1", "<b>bold</b> & 'quoted' \"twice\"")
    for name in names:
        assert browser.open("/setup/sites").send("add_site", name=name).status == 200, name
    with world.house.store.reading() as session:
        stored = {site.name for site in session.exec(select(SiteRow))}
    assert "Caf\u00e9 quay" in stored and "Cafe\u0301 quay" not in stored
    assert set(names[1:]) <= stored
    page = browser.open("/setup/sites")
    shown = "".join(page.root.itertext())
    assert all(name in shown for name in names[1:])
    assert "<b>bold" not in page.text


def test_j3_bytes_that_are_no_text_are_refused_and_named(world: World) -> None:
    browser = world.browser("Mona Manager")
    to, pairs = browser.open("/setup/sites").form_fields("add_site")
    machinery = "&".join(f"{name}={value}" for name, value in pairs if name in ("key", "token"))
    headers = {"Origin": BASE, "Content-Type": "application/x-www-form-urlencoded"}
    for broken in ("%ff%fe", "%ed%a0%80", "a%00b", "a%e2%80%aeb"):
        answer = browser.client.post(to, content=f"{machinery}&name={broken}", headers=headers)
        assert answer.status_code == 422, broken
    with world.house.store.reading() as session:
        assert len(list(session.exec(select(SiteRow)))) == 2


NIGHTS = {
    "back an hour": datetime(2026, 10, 25, 0, 10, tzinfo=UTC),
    "on an hour": datetime(2027, 3, 28, 0, 10, tzinfo=UTC),
}
# Zone, and minutes that pass under it: both sides of the change, the far side of the world, a clock put back.
SHIFTS = (("Europe/Lisbon", 30), ("Europe/Lisbon", 60), ("Pacific/Auckland", 0), ("America/Lima", -1500))


@pytest.mark.parametrize("night", NIGHTS.values(), ids=NIGHTS)
def test_h5_change_nights_clock_jumps_and_another_zone_move_nobody(world: World, night: datetime) -> None:
    world.clock.at = night
    group = group_of(world, book(world, "Pella", "Corin"))
    numbers = members_of(world, group)
    for member in numbers.values():
        water_event(world, group, member, "in")
    with world.act() as act:
        act.get(GroupRow, group).entered_at = night
    for zone, minutes in SHIFTS:
        with world.act() as act:
            row = shop_row(act.session)
            assert row is not None
            row.timezone = zone
        world.clock.pass_minutes(minutes)
        browser = world.browser("Ines Instructor")
        board = browser.open("/today/water")
        assert len(board.people()) == 3, (zone, minutes, board.words())
        assert "3 in the water" in browser.open("/today").text
    page = browser.open(f"/water/{group}/back")
    for count, member in enumerate(numbers.values(), 1):
        page = page.send("mark_back", at=f"/water/{group}/back/{member}")
        assert page.status == 200
        assert len(browser.open("/today/water").people()) == 3 - count


def test_j2_over_the_limit_is_told_which(world: World) -> None:
    client = world.browser("Mona Manager").client
    form = {"Origin": BASE, "Content-Type": "application/x-www-form-urlencoded"}
    many = client.post("/setup/sites", content="&".join(f"f{n}=1" for n in range(201)), headers=form)
    assert many.status_code == 413 and "200 fields" in many.text
    big = client.post("/setup/sites", content=b"name=" + b"x" * 263_000, headers=form)
    assert big.status_code == 413 and "256 KiB" in big.text
    headed = client.get("/today", headers={"X-Long": "a" * 17_000})
    assert headed.status_code == 413 and "16 KiB" in headed.text
    file = client.post("/setup/sites", files={"name": ("a.txt", b"hi")}, headers={"Origin": BASE})
    assert file.status_code == 422
    json = client.post("/setup/sites", content="{}", headers={**form, "Content-Type": "application/json"})
    assert json.status_code == 422
    page = world.browser("Mona Manager").open("/setup/sites").send("add_site", name="x" * 101)
    assert page.status == 422 and "100 characters" in page.words()


def test_k1_only_files_are_kept_by_browsers(world: World) -> None:
    client = world.browser().client
    assert "max-age" in client.get("/static/daybuoy.css").headers["cache-control"]
    for path in ("/static/nothing.css", "/static/", "/nothing", "/static/%2e%2e/app/main.py"):
        answer = client.get(path)
        assert (answer.status_code, answer.headers["cache-control"]) == (404, "no-store"), path


def test_k4_headers_of_proxies_and_overrides_change_nothing(world: World) -> None:
    client = world.browser("Mona Manager").client
    said = {
        "X-Forwarded-Host": "evil.example",
        "X-Forwarded-Proto": "https",
        "X-HTTP-Method-Override": "POST",
    }
    answer = client.get("/", headers=said, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/today")
    page = client.get("/today", headers=said)
    assert page.status_code == 200 and "evil.example" not in page.text
