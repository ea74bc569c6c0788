"""Shop set-up: people, devices, limits, sites, and the very first start."""

from pathlib import Path
from typing import Any

import pytest
from sqlmodel import select

from app.actions.setup.first_start import show_code
from app.main import build
from app.records.plans import plans
from app.records.setup.shop import limits_now
from app.records.store.house import open_house
from app.records.tables.house import SiteRow
from app.rules import presets
from app.settings.config import VERSION, Settings
from tests.groups_world import book, give_cylinders, group_of
from tests.web_world import PASSPHRASE, Browser, Page, TestClock, World


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
    people = [a for a in page.find("a") if (a.get("href") or "").startswith("/setup/people/")]
    link = next(a.get("href") for a in people if "Mona" in "".join(a.itertext()))
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
    assert "1025.5 kg/m³, as entered" in page.words() and "1.01325 bar, as entered" in page.words()
    bad = page.send("add_site", name="Quarry", water="measured", measured_kg_m3="10000")
    assert bad.status == 422 and "between 990 and 1050" in bad.words() and "Quarry" in bad.text
    good = bad.send("add_site", measured_kg_m3="999", altitude_m="600")
    assert good.status == 200 and "Quarry" in good.words()
    assert "999.0 kg/m³, as entered" in good.words() and "0.94322 bar, at 600 m" in good.words()
    assert "Pressure at 12 m2.119 bar" in good.words() and "Pressure at 2.5 m" in good.words()


def test_a_sites_water_is_worked_out_from_what_is_known(world: World) -> None:
    """EOS-80 at 26 C: salinity 0, 12 and 35 give 996.8, 1005.8 and 1023.0 kg/m3 (TEOS-10 agrees)."""
    browser = world.browser("Mona Manager")
    page = browser.open("/setup/sites")
    for name, said, density in (
        ("Tarn", {"water": "fresh"}, "996.8 kg/m³, fresh water at 26 °C"),
        ("Lagoon", {"water": "salinity", "salinity": "12"}, "1005.8 kg/m³, 12 g/kg of salt at 26 °C"),
        ("Reef", {"water": "salt"}, "1023.0 kg/m³, open sea at 26 °C"),
    ):
        page = page.send("add_site", name=name, usual_temp_c="26", **said)
        assert page.status == 200 and density in page.words(), name
    barometer = page.send("add_site", name="Cove", altitude_m="", barometer_hpa="998.5")
    assert "0.99850 bar, as entered" in barometer.words()


def test_a_sites_water_is_said_once_and_whole(world: World) -> None:
    page = world.browser("Mona Manager").open("/setup/sites")
    for said, sentence in (
        ({"water": "salinity"}, "Enter the salinity."),
        ({"water": "measured"}, "Enter the density."),
        ({"water": "salt", "salinity": "20"}, "choose above that the salinity is known"),
        ({"water": "fresh", "measured_kg_m3": "1010"}, "choose above that the density is known"),
        ({"altitude_m": "600", "barometer_hpa": "940"}, "Enter the height or the barometer"),
        ({"altitude_m": "9000"}, "between -450 and 4000"),
        ({"water": "soup"}, "Choose what is known of the water."),
    ):
        refused = page.send("add_site", name="Tarn", **said)
        assert refused.status == 422 and sentence in refused.words(), said
    with world.house.store.reading() as session:
        assert not list(session.exec(select(SiteRow).where(SiteRow.name == "Tarn")))


def test_a_site_changed_by_two_is_shown_with_both(world: World) -> None:
    browser = world.browser("Mona Manager")
    old, page = browser.open("/setup/sites"), browser.open("/setup/sites")
    assert page.send("edit_site", at="/setup/sites/1", measured_kg_m3="1027").status == 200
    stale = old.send("edit_site", at="/setup/sites/1", measured_kg_m3="1021")
    assert stale.status == 409 and "1021" in stale.words() and "1027" in stale.words()


def test_a_lake_in_the_hills_changes_the_plan_and_so_does_a_hot_sea(world: World) -> None:
    """The same dive, first as the site is, then at 1,500 m in fresh water, then in a sea of 30 C."""
    group_id = group_of(world, book(world, "Ann"))
    give_cylinders(world, group_id)
    ines, manager = world.browser("Ines Instructor"), world.browser("Mona Manager")

    def plan() -> dict[str, Any]:
        assert ines.open(f"/groups/{group_id}/plan").status == 200
        with world.house.store.reading() as session:
            draft = plans.draft_plan(session, world.house, group_id, world.clock())
        assert draft.case is not None and draft.answer is not None
        return {**draft.case["sea"], **draft.answer}

    sea = plan()
    edit = {"water": "fresh", "measured_kg_m3": "", "altitude_m": "1500", "barometer_hpa": ""}
    assert manager.open("/setup/sites").send("edit_site", at="/setup/sites/1", **edit).status == 200
    lake = plan()
    assert lake["surface_bar"] == pytest.approx(0.84556, abs=1e-4)
    assert lake["density_kg_m3"] == pytest.approx(998.8, abs=0.1)
    assert lake["divers"][0]["end_gauge_bar"] > sea["divers"][0]["end_gauge_bar"] + 5
    assert lake["nitrogen"][0]["zhl_minutes_total"] < 0.9 * sea["nitrogen"][0]["zhl_minutes_total"]
    hot = {"water": "salt", "altitude_m": "0", "usual_temp_c": "30"}
    assert manager.open("/setup/sites").send("edit_site", at="/setup/sites/1", **hot).status == 200
    warm = plan()
    assert warm["temp_c"] == 30 and warm["surface_bar"] == 1.01325
    assert warm["divers"][0]["start_gauge_bar"] > sea["divers"][0]["start_gauge_bar"] + 5


def step_states(page: Page) -> dict[str, str]:
    """Return data-step -> data-state of the steps."""
    return {
        li.get("data-step", ""): li.get("data-state", "") for li in page.find("li") if li.get("data-step")
    }


def test_the_steps_say_what_is_missing_and_lead_there(world: World) -> None:
    browser = world.browser("Mona Manager")
    page = browser.open("/setup")
    assert step_states(page) == {
        "shop": "done", "country": "missing", "people": "done", "devices": "missing", "sites": "done",
        "emergency": "missing", "limits": "done", "backup": "missing", "wording": "done", "things": "missing",
        "wifi": "missing",
    }  # fmt: skip
    words = page.words()
    assert "5 of 11 steps are done." in words and "The emergency kit was never checked." in words
    assert "There are no cylinders. There is no kit." in words
    (go_on,) = [a for a in page.find("a") if "main" in (a.get("class") or "")]
    assert go_on.get("href") == "/setup/country" and "Go on: country" in words
    for link in page.find("a"):
        if (href := link.get("href") or "").startswith("/"):
            assert browser.open(href).status == 200, href
    browser.open("/setup/country").send("choose_country")
    browser.open("/setup/devices").send("pair_device", name="Desk tablet", kind="tablet")
    page = browser.open("/setup")
    assert {"country", "devices"} <= {key for key, state in step_states(page).items() if state == "done"}
    for name in ("Dora Desk", "Lena Lead"):
        other = world.browser(name)
        for path in ("/setup", "/setup/country", "/setup/wifi", "/setup/about"):
            assert other.open(path).status == 404


def test_a_country_shows_what_it_changes_before_it_is_chosen(world: World) -> None:
    browser = world.browser("Mona Manager")
    assert "nobody chose it" in browser.open("/setup/country").words()
    page = browser.open("/setup/country?look=france")
    words = page.words()
    for said in (
        "at its outermost",
        "Annex III-16a",
        "Confirm it with your authority",
        "Deepest an introductory dive may ever be",
        "stricter",
    ):
        assert said.lower() in words.lower(), said
    row = next(tr for tr in page.find("tr") if "Deepest an introductory dive" in "".join(tr.itertext())
               and "stricter" in "".join(tr.itertext()))  # fmt: skip
    assert "12 m" in "".join(row.itertext()) and "6 m" in "".join(row.itertext())
    stale = browser.open("/setup/country?look=thailand")
    done = page.send("choose_country")
    assert done.status == 200 and "In force: France" in done.words() and "Mona Manager" in done.words()
    clash = stale.send("choose_country")
    assert clash.status == 409 and "thailand" in clash.words() and "france" in clash.words()
    with world.house.store.reading() as session:
        now = limits_now(session)
    assert now["depth_max_open_water"].number == 6
    assert now["depth_max_open_water"].bound_by == "preset France"
    back = browser.open("/setup/country?look=general").words()
    assert "looser" in back and "12 m" in back
    for path in ("/setup/country?look=nowhere",):
        assert browser.open(path).status == 404
    token = page.find("input", name="token")[0].get("value") or ""
    sent = {"key": "c" * 32, "token": token, "version": "2"}
    assert browser.post("/setup/country/nowhere", sent).status == 404


def test_every_country_can_be_looked_at(world: World) -> None:
    browser = world.browser("Mona Manager")
    for key, preset in presets.ALL.items():
        words = browser.open(f"/setup/country?look={key}").words()
        for one in preset.said:
            assert one.text in words and one.source in words, one


def test_choosing_a_country_asks_for_the_passphrase_again(world: World) -> None:
    browser = world.browser("Mona Manager")
    world.clock.pass_minutes(11)
    page = browser.open("/setup/country?look=france")
    refused = page.send("choose_country", confirm="")
    assert refused.status == 422
    done = browser.open("/setup/country?look=france").send("choose_country", confirm=PASSPHRASE)
    assert "In force: France" in done.words()


def test_each_limit_shows_what_the_shop_set_and_why(world: World) -> None:
    browser = world.browser("Mona Manager")
    page = browser.open("/setup/limits/turn_pressure")
    assert "The shop set nothing here yet." in page.words()
    page.send("set_limit", value="110", reason="cold week")
    browser.open("/setup/limits/turn_pressure").send("set_limit", value="120", reason="colder still")
    words = browser.open("/setup/limits/turn_pressure").words()
    assert (
        words.index("120 bar") < words.index("110 bar") and "cold week" in words and "Mona Manager" in words
    )
    assert "cold week" not in browser.open("/setup/limits/start_pressure_min").words()


def test_the_manager_accepts_the_open_wifi_by_name(world: World) -> None:
    browser = world.browser("Mona Manager")
    page = browser.open("/setup/wifi")
    to, pairs = page.form_fields("accept_open_wifi")
    done = browser.post(to, pairs)
    assert "Accepted by Mona Manager" in done.words() and not done.forms("accept_open_wifi")
    assert browser.post(to, {**dict(pairs), "key": "w" * 32}).status == 409
    token = world.browser("Dora Desk")
    sent = token.open("/today").find("input", name="token")[0].get("value") or ""
    assert token.post(to, {**dict(pairs), "key": "v" * 32, "token": sent}).status == 404


def test_about_says_what_runs_and_checks_the_records_on_demand(world: World) -> None:
    browser = world.browser("Mona Manager")
    page = browser.open("/setup/about")
    words = page.words()
    for said in (f"Daybuoy {VERSION}", "htmx", "0BSD", "fastapi", "Europe/Lisbon", "Last check: never"):
        assert said in words, said
    assert str(world.house.settings.data.resolve()) in words
    assert "SQLite" in words or "PostgreSQL" in words
    assert page.send("check_records").status == 200
    world.house.at_work.wait(30)
    words = browser.open("/setup/about").words()
    assert "well: Store and trail are whole" in words
    assert browser.open("/up").text == f"up {VERSION}\n"
