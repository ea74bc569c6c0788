"""The day's emergency kit check."""

from datetime import timedelta

import pytest

from app.records.tables.house import ShopRow
from app.records.water_side import emergency_kit
from app.rules.emergency_kit import ITEMS, KEYS
from tests.picture_bytes import jpeg
from tests.web_ready import Ready
from tests.web_world import DAY, World

ALL_WORK = {f"item_{key}": "works" for key in KEYS}


def test_a_whole_check_is_stored_once_and_the_newest_of_the_day_counts(world: World) -> None:
    browser = world.browser("Ines Instructor")
    page = browser.open("/emergency-kit")
    assert "not checked yet" in page.words()
    to, pairs = page.form_fields("check_emergency_kit")
    typed = {**dict(pairs), **ALL_WORK, "oxygen_bar": "150", "oxygen_cylinder_litres": "5"}
    done = browser.post(to, typed)
    assert done.status == 200 and "complete" in done.words() and "750 L of oxygen" in done.words()
    assert "Ines Instructor, 09:00" in done.words() and "oxygen_min" in done.rules()
    browser.post(to, typed)
    world.clock.pass_minutes(1)
    changed = {**ALL_WORK, "item_defibrillator": "missing"}
    later = browser.open("/emergency-kit")
    assert later.find("input", name="oxygen_bar")[0].get("value") == ""
    assert later.find("input", name="oxygen_cylinder_litres")[0].get("value") == "5"
    later = later.send("check_emergency_kit", **changed, oxygen_bar="140 bar", note="Pads ordered")
    assert (
        "not complete" in later.words()
        and "Pads ordered" in later.words()
        and "Earlier today" in later.words()
    )
    with world.house.store.reading() as session:
        checks = emergency_kit.checks_of(session, DAY)
        newest = emergency_kit.check_of(session, DAY)
        assert len(checks) == 2 and newest is not None
        assert [item.key for item in newest.missing] == ["defibrillator"]
        assert (newest.row.oxygen_litres, newest.row.by) == (700, "Ines Instructor")
        assert emergency_kit.check_of(session, DAY + timedelta(days=1)) is None


def test_every_item_is_answered_and_pressures_are_possible(world: World) -> None:
    page = world.browser("Lena Lead").open("/emergency-kit")
    some = {name: value for name, value in ALL_WORK.items() if name != "item_recall"}
    bad = page.send("check_emergency_kit", **some, oxygen_bar="900", oxygen_cylinder_litres="")
    assert bad.status == 422
    for sentence in (
        "Choose what you found: recall device.",
        "Oxygen pressure must be between 0 and 300 bar.",
        "Enter oxygen cylinder in L.",
    ):
        assert sentence in bad.words()
    assert bad.find("input", name="oxygen_bar")[0].get("value") == "900"
    kept = [e for e in bad.find("input", name="item_blanket") if "checked" in e.attrib]
    assert [e.get("value") for e in kept] == ["works"]
    with world.house.store.reading() as session:
        assert emergency_kit.checks_of(session, DAY) == []


def test_oxygen_that_is_missing_or_too_little_is_stored_as_it_is(world: World) -> None:
    browser = world.browser("Mona Manager")
    missing = browser.open("/emergency-kit").send(
        "check_emergency_kit", **{**ALL_WORK, "item_oxygen": "missing"}
    )
    assert missing.status == 200 and "0 L of oxygen" in missing.words() and "not complete" in missing.words()
    little = browser.open("/emergency-kit").send(
        "check_emergency_kit", **ALL_WORK, oxygen_bar="50", oxygen_cylinder_litres="5"
    )
    assert "There is too little oxygen." in little.words() and "Nobody goes in" in little.words()


def test_the_kit_is_not_ready_while_an_emergency_number_is_missing(world: World) -> None:
    with world.act() as act:
        act.edit(act.get(ShopRow, 1), None, {"phone_dive_doctor": ""}, {})
    page = world.browser("Ines Instructor").open("/emergency-kit")
    page = page.send("check_emergency_kit", **ALL_WORK, oxygen_bar="150", oxygen_cylinder_litres="5")
    assert "not ready" in page.words() and "emergency_contacts" in page.rules()


def test_drills_are_written_down_and_the_latest_is_shown(world: World) -> None:
    page = world.browser("Ines Instructor").open("/emergency-kit")
    assert "Last drill: none on file" in page.words()
    day = {"held_on_day": "1", "held_on_month": "7", "held_on_year": "2026"}
    bad = page.send("write_drill", **{**day, "held_on_year": "2027"}, what="Missing person")
    assert bad.status == 422 and "The day of the drill must be between" in bad.words()
    assert bad.find("input", name="what")[0].get("value") == "Missing person"
    done = page.send("write_drill", **day, what="Missing person")
    assert done.status == 200 and "Last drill: Wed 1 Jul 2026, Missing person" in done.words()
    older = done.send("write_drill", **{**day, "held_on_month": "4"}, what="Oxygen")
    assert "Last drill: Wed 1 Jul 2026" in older.words()


def test_the_desk_reads_and_does_not_check(world: World) -> None:
    desk = world.browser("Dora Desk")
    page = desk.open("/emergency-kit")
    assert (
        page.status == 200 and not page.forms("check_emergency_kit") and "Ask an instructor" in page.words()
    )
    token = page.find("input", name="token")[0].get("value") or ""
    sent = desk.post("/emergency-kit", {**ALL_WORK, "key": "k" * 32, "token": token})
    assert sent.status == 404
    assert desk.post("/emergency-kit/drills", {"what": "x", "key": "d" * 32, "token": token}).status == 404
    assert world.browser("Kim Keeper").open("/emergency-kit").status == 404


@pytest.mark.parametrize("key", KEYS)
def test_each_item_that_is_missing_keeps_everybody_ashore(ready: Ready, key: str) -> None:
    page = ready.phone.open("/emergency-kit")
    found = {**ALL_WORK, "oxygen_bar": "150", "oxygen_cylinder_litres": "5", f"item_{key}": "missing"}
    assert page.send("check_emergency_kit", **found).status == 200
    refused = ready.go_in()
    assert refused.status == 422 and ready.in_water() == set()
    assert "emergency_kit_complete" in refused.rules()
    name = next(item.name for item in ITEMS if item.key == key)
    assert f"The emergency kit lacks: {name.lower()}." in refused.words()
    whole = {**found, f"item_{key}": "works"}
    assert ready.phone.open("/emergency-kit").send("check_emergency_kit", **whole).status == 200
    assert "emergency_kit_complete" not in ready.go_in().rules()


def test_a_picture_goes_with_the_check(world: World) -> None:
    browser = world.browser("Ines Instructor")
    checked = browser.open("/emergency-kit").send(
        "check_emergency_kit", **ALL_WORK, oxygen_bar="150", oxygen_cylinder_litres="5"
    )
    kept = checked.send_files("add_emergency_kit_picture", {"photo": jpeg(64, 48)})
    assert "Picture kept." in kept.words()
    (image,) = kept.find("img")
    assert image.get("alt", "").startswith("Emergency kit, picture of")
    assert browser.client.get(image.get("src", "")).status_code == 200
    bad = kept.send_files("add_emergency_kit_picture", {"photo": b"no picture"})
    assert bad.status == 422 and len(bad.find("img")) == 1
    desk = world.browser("Dora Desk")
    seen = desk.open("/emergency-kit")
    assert seen.find("img") and not seen.forms("add_emergency_kit_picture")
    token = seen.find("input", name="token")[0].get("value") or ""
    sent = desk.post_files(
        "/emergency-kit/1/pictures", [("key", "p" * 32), ("token", token)], [("photo", jpeg(64, 48))]
    )
    assert sent.status == 404
    assert world.browser("Kim Keeper").client.get(image.get("src", "")).status_code == 404
    at_none = browser.open("/emergency-kit").find("input", name="token")[0].get("value") or ""
    gone = browser.post_files(
        "/emergency-kit/9/pictures", [("key", "q" * 32), ("token", at_none)], [("photo", jpeg(64, 48))]
    )
    assert gone.status == 404
