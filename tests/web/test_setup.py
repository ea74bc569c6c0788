"""Shop set-up: people, devices, limits, sites, and the very first start."""

from pathlib import Path

from app.actions.first_start import show_code
from app.main import build
from app.records.house import open_house
from app.settings.config import Settings
from tests.web_world import PASSPHRASE, Browser, TestClock, World


def test_the_first_manager_needs_the_code_of_the_shop_computer(tmp_path: Path) -> None:
    from starlette.testclient import TestClient

    house = open_house(Settings(data=tmp_path / "fresh"), TestClock())
    browser = Browser(TestClient(build(house), base_url="http://127.0.0.1:8000"))
    page = browser.open("/")
    assert page.url.endswith("/first")
    typed = {"shop_name": "Harbour Steps", "timezone": "Europe/Lisbon", "name": "Mona Manager"}
    typed["passphrase"] = PASSPHRASE
    wrong = page.send("first_manager", **typed, code="0000-0000-0000")
    assert wrong.status == 422 and "not the code" in wrong.words()
    assert wrong.find("input", name="name")[0].get("value") == "Mona Manager"
    done = wrong.send("first_manager", **typed, code=show_code(house) or "")
    assert done.url.endswith("/sign-in") or "/sign-in?" in done.url
    assert show_code(house) is None
    assert "/today" in browser.sign_in("Mona Manager").url
    assert browser.open("/first").status == 404
    house.close()


def test_only_the_manager_opens_set_up(world: World) -> None:
    for name in ("Dora Desk", "Ines Instructor", "Kim Keeper"):
        browser = world.browser(name)
        for path in (
            "/setup",
            "/setup/people",
            "/setup/limits",
            "/setup/sites",
            "/setup/devices",
            "/setup/shop",
        ):
            assert browser.open(path).status == 404, (name, path)


def test_people_are_added_changed_and_get_a_pin_for_paired_devices(world: World) -> None:
    browser = world.browser("Mona Manager")
    page = browser.open("/setup/people")
    short = page.send("add_person", name="Pia Pool", roles=["instructor"], passphrase="short")
    assert short.status == 422 and "15 to 128" in short.words()
    page = short.send("add_person", name="Pia Pool", roles=["instructor", "desk"], passphrase=PASSPHRASE)
    assert page.status == 200 and "Pia Pool" in page.words()
    person = page.url.split("?")[0]
    old = browser.open(person)
    saved = page.send(
        "change_person", credential_until_day="30", credential_until_month="6", credential_until_year="2027",
        grade="level 1",
    )  # fmt: skip
    assert saved.status == 200 and saved.find("input", name="credential_until_year")[0].get("value") == "2027"
    stale = old.send("change_person", name="Pia Poole")
    assert stale.status == 409 and "Choose which to keep" in stale.words() and "Pia Poole" in stale.text
    pin_page = browser.open(person).send("new_pin")
    pin = "".join(pin_page.find("p", **{"class": "number"})[0].itertext()).strip()
    assert len(pin) == 6 and pin.isdigit()
    assert browser.open(person).text.count(pin) == 0
    other = world.browser()
    assert other.sign_in("Pia Pool", pin).status == 422
    browser.open("/setup/devices").send("pair_device", name="Front desk tablet", kind="tablet")
    browser.open("/today").send("sign-out")
    assert "/today" in browser.sign_in("Pia Pool", pin).url


def test_a_device_is_ended_in_one_act(world: World) -> None:
    browser = world.browser("Mona Manager")
    browser.open("/setup/devices").send("pair_device", name="Old phone", kind="phone")
    browser.open("/today").send("sign-out")
    assert "/today" in browser.sign_in("Mona Manager").url
    page = world.browser("Mona Manager").open("/setup/devices")
    page.send("end_device")
    assert browser.open("/today").url.endswith("/sign-in")


def test_changes_ask_for_the_passphrase_again_after_ten_minutes(world: World) -> None:
    browser = world.browser("Mona Manager")
    world.clock.pass_minutes(11)
    page = browser.open("/setup/people")
    refused = page.send("add_person", name="Pia Pool", roles=["desk"], passphrase=PASSPHRASE, confirm="")
    assert refused.status == 422 and "asks for it again" in refused.words()
    page = refused.send("add_person", roles=["desk"], passphrase=PASSPHRASE, confirm=PASSPHRASE)
    assert page.status == 200 and "Pia Pool" in page.words()


def test_the_last_manager_stays(world: World) -> None:
    page = world.browser("Mona Manager").open("/setup/people")
    link = next(a.get("href") for a in page.find("a") if "Mona" in "".join(a.itertext()))
    refused = page.browser.open(link or "").send("change_person", roles=["desk"])
    assert refused.status == 422 and "at least one manager" in refused.words()


def test_limits_are_tightened_and_never_loosened_past_the_edge(world: World) -> None:
    browser = world.browser("Mona Manager")
    assert "turn_pressure" in browser.open("/setup/limits").rules()
    page = browser.open("/setup/limits/turn_pressure")
    tighter = page.send("set_limit", value="110", reason="cold week")
    assert tighter.status == 200 and "at least 110 bar" in tighter.words() and "cold week" in tighter.words()
    loose = browser.open("/setup/limits/depth_max_open_water").send("set_limit", value="18", reason="why not")
    assert loose.status == 422 and "looser" in loose.words()
    assert [li for li in loose.find("li") if li.get("data-rule") == "depth_max_open_water"]
    assert loose.find("input", name="value")[0].get("value") == "18"
    for path in (
        "/setup/limits/skills_required_set",
        "/setup/limits/guide_required",
        "/setup/limits/nothing",
    ):
        assert browser.open(path).status == 404, path


def test_sites_hold_their_own_water(world: World) -> None:
    browser = world.browser("Mona Manager")
    page = browser.open("/setup/sites")
    bad = page.send("add_site", name="Quarry", density_kg_m3="10000")
    assert bad.status == 422 and "between 990 and 1050" in bad.words()
    good = bad.send("add_site", density_kg_m3="999", water="fresh")
    assert good.status == 200 and "Quarry" in good.words()
