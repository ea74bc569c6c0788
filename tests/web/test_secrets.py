"""Names, passphrases and PINs: C1 to C4 as seen by a browser."""

import re
from datetime import timedelta

import pytest
from sqlalchemy import inspect, text
from sqlmodel import select

from app.actions.setup import team
from app.actions.setup.sign_in import hash_secret, judge_passphrase
from app.records.tables.people import PersonRow, WrongTryRow
from tests.web_world import PASSPHRASE, Browser, Page, World

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
