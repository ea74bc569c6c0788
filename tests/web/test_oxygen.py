"""Emergency oxygen through HTTP: minutes against the way of help, several cylinders, both sides."""

import pytest

from app.records.tables.days import EmergencyOxygenRow
from app.records.tables.house import SiteRow
from app.rules.emergency_kit import KEYS
from tests.water_world import rows_of
from tests.web_ready import Ready
from tests.web_world import Browser, Page, World

ALL_WORK = {f"item_{key}": "works" for key in KEYS}


def check(browser: Browser, bar: str, litres: str = "5", **more: str) -> Page:
    """Send a whole check of the emergency kit with this much oxygen."""
    page = browser.open("/emergency-kit")
    return page.send("check_emergency_kit", **ALL_WORK, oxygen_bar=bar, oxygen_cylinder_litres=litres, **more)


def help_takes(world: World, minutes: float | None, site: int = 1) -> None:
    """Set how long help takes to a site."""
    with world.act() as act:
        act.edit(act.get(SiteRow, site), None, {"help_travel_minutes": minutes}, {})


def oxygen_state(page: Page) -> str:
    """Return how the line about oxygen on a page stands."""
    return " ".join(e.get("data-state") or "" for e in page.find("p", data_rule="help_travel_minutes"))


def test_minutes_at_the_flow_in_force_on_both_sides_of_three_hundred_litres(world: World) -> None:
    """300 L at 15 L/min: 20 min; 299.5 L are 19 whole minutes and too little."""
    browser = world.browser("Ines Instructor")
    enough = check(browser, "60")
    assert "Oxygen for 20 min at 15 L/min. Needed: 20 min; help takes 20 min" in enough.words()
    assert oxygen_state(enough) == "enough" and "Too little oxygen" not in browser.open("/today").words()
    short = check(browser, "59.9")
    assert oxygen_state(short) == "short" and "Oxygen for 19 min" in short.words()
    today = browser.open("/today")
    assert "Too little oxygen. Oxygen for 19 min" in today.words()
    assert "Too little oxygen" not in browser.open("/today?day=2026-07-16").words()


def test_several_cylinders_add_up(world: World) -> None:
    browser = world.browser("Lena Lead")
    more = {
        "oxygen_bar_2": "40",
        "oxygen_cylinder_litres_2": "2",
        "oxygen_bar_3": "14",
        "oxygen_cylinder_litres_3": "5",
    }
    page = check(browser, "30", **more)
    assert "300 L of oxygen (30 bar × 5 L + 40 bar × 2 L + 14 bar × 5 L)" in page.words()
    assert oxygen_state(page) == "enough"
    # What stands there usually is offered again; the pressures are not.
    assert page.find("input", name="oxygen_cylinder_litres_3")[0].get("value") == "5"
    assert page.find("input", name="oxygen_bar_3")[0].get("value") == ""
    half = check(browser, "30", oxygen_bar_2="40", oxygen_cylinder_litres_2="")
    assert half.status == 422 and "Enter oxygen cylinder 2 in L" in half.words()
    assert half.find("input", name="oxygen_bar_2")[0].get("value") == "40"
    broken = browser.open("/emergency-kit").send(
        "check_emergency_kit", **{**ALL_WORK, "item_oxygen": "missing"}, oxygen_cylinder_litres_2="",
        oxygen_cylinder_litres_3="",
    )  # fmt: skip
    assert "0 L of oxygen" in broken.words() and oxygen_state(broken) == "short"


@pytest.mark.parametrize(
    ("minutes", "litres", "asked"), [(40.0, 600.0, 40), (10.0, 300.0, 20), (None, 300.0, 20)]
)
def test_the_first_entry_waits_for_oxygen_until_help_is_there(
    ready: Ready, minutes: float | None, litres: float, asked: int
) -> None:
    """The longer of the site's and the shop's way binds, never under 300 L; the edge itself lets in."""
    world = ready.world
    help_takes(world, minutes)
    check(ready.phone, f"{litres / 5 - 0.1:g}")
    refused = ready.go_in()
    assert refused.status == 422 and "oxygen_min" in refused.rules() and ready.in_water() == set()
    assert "There is too little oxygen" in refused.words()
    kit = ready.phone.open("/emergency-kit")
    assert f"Needed: {asked} min" in kit.words() and oxygen_state(kit) == "short"
    plan = ready.phone.open(f"/groups/{ready.group_id}/plan")
    assert oxygen_state(plan) == "short" and f"Needed: {asked} min" in plan.words()
    check(ready.phone, f"{litres / 5:g}")
    assert ready.go_in().status == 200


def test_a_longer_way_of_the_shop_binds_at_every_site(world: World) -> None:
    help_takes(world, 25.0)
    manager = world.browser("Mona Manager")
    limit = manager.open("/setup/limits/help_travel_minutes")
    assert limit.send("set_limit", value="30", reason="Ferry in winter").status == 200
    page = check(manager, "89")
    assert oxygen_state(page) == "short" and "Needed: 30 min; help takes 30 min" in page.words()
    assert oxygen_state(check(manager, "90")) == "enough"


def test_the_site_page_keeps_its_own_way_of_help(world: World) -> None:
    manager = world.browser("Mona Manager")
    page = manager.open("/setup/sites")
    bad = page.send("edit_site", "/setup/sites/1", help_travel_minutes="soon")
    assert bad.status == 422 and "as a number in min" in bad.words()
    assert page.send("edit_site", "/setup/sites/1", help_travel_minutes="45").status == 200
    kept = manager.open("/setup/sites")
    assert "45" in [e.get("value") for e in kept.find("input", name="help_travel_minutes")]
    assert "help takes 45 min (set by site Long Jetty)" in check(manager, "100").words()
    assert kept.send("edit_site", "/setup/sites/1", help_travel_minutes="").status == 200
    with world.house.store.reading() as session:
        row = session.get(SiteRow, 1)
        assert row is not None and row.help_travel_minutes is None


def test_the_plan_page_looks_at_the_oxygen_of_the_groups_day(ready: Ready) -> None:
    assert [(one.bar, one.cylinder_litres) for one in rows_of(ready, EmergencyOxygenRow)] == [(150, 5)]
    ready.world.clock.pass_minutes(24 * 60)
    plan = ready.world.browser("Ines Instructor").open(f"/groups/{ready.group_id}/plan")
    assert oxygen_state(plan) == "enough"
