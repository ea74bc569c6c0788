"""Gas room: filter and oil hours, what the compressor delivers, its air certificate, the banks."""

from sqlmodel import col, select

from app.records.gas_room import compressor
from app.records.tables.cylinders import AirTestRow
from tests.gas_world import stock
from tests.web_world import Browser, Page, World

TESTED = {"tested_on_day": "1", "tested_on_month": "7", "tested_on_year": "2026", "report": "Island Lab"}


def service(browser: Browser, kind: str, hours: str, note: str = "") -> Page:
    """Write a new cartridge or an oil service down."""
    return browser.open("/gas/compressor").send("write_service", kind=kind, hours=hours, note=note)


def fill(browser: Browser, end: str = "200", **more: str) -> Page:
    """Write the fill of cylinder 1 down as a batch of one."""
    return browser.open("/gas/fill").send("fill_several", pick="1", end_bar=end, temp_c="30", **more)


def test_filter_hours_are_shown_warned_of_and_then_stop_fills(world: World) -> None:
    stock(world, 3)
    browser = world.browser("Ines Instructor")
    assert "not known" in browser.open("/gas/compressor").words()
    done = service(browser, "filter", "1400", "Cartridge 13")
    assert done.status == 200 and "Cartridge 13" in done.words() and "25.0 h" in done.words()
    assert browser.open("/gas/compressor").send("read_compressor", hours="1421.5").status == 200
    page = browser.open("/gas/compressor")
    assert "3.5 h" in page.words() and "The filter is used up soon." in page.words()
    filled = fill(browser)
    assert filled.status == 200 and "The filter is used up soon." in "".join(filled.root.itertext())
    browser.open("/gas/compressor").send("read_compressor", hours="1425")
    for path in ("/gas/compressor", "/gas", "/gas/fill"):
        assert "compressor_filter_hours" in browser.open(path).rules(), path
    refused = browser.open("/gas/fill").send("fill_several", pick="2", end_bar="200", temp_c="30")
    assert refused.status == 422 and "hours are used up" in refused.words()
    assert "compressor_filter_hours" in refused.rules()
    one = browser.open("/gas/cylinders/2").send("fill_cylinder", start_2="60", end_2="200", temp_c="30")
    assert one.status == 422 and "compressor_filter_hours" in one.rules()
    assert service(browser, "filter", "1425").status == 200
    assert browser.open("/gas/fill").send("fill_several", pick="2", end_bar="200", temp_c="30").status == 200


def test_oil_is_said_and_fills_go_on(world: World) -> None:
    stock(world, 2)
    browser = world.browser("Lena Lead")
    service(browser, "oil", "1000")
    browser.open("/gas/compressor").send("read_compressor", hours="1100")
    assert "oil service is overdue" in browser.open("/gas").words()
    assert fill(browser).status == 200


def test_a_service_is_held_against_the_meter_and_may_move_it_on(world: World) -> None:
    browser = world.browser("Ines Instructor")
    assert service(browser, "filter", "500").status == 200
    with world.house.store.reading() as session:
        assert compressor.compressor_facts(session).hours == 500
    back = service(browser, "filter", "499")
    assert back.status == 422 and "The last one was at 500 h." in back.words()
    nothing = service(browser, "", "501")
    assert nothing.status == 422 and "Choose what was done." in nothing.words()
    to, pairs = browser.open("/gas/compressor").form_fields("write_service")
    typed = {**dict(pairs), "kind": "oil", "hours": "510"}
    assert browser.post(to, typed).status == 200 and browser.post(to, typed).status == 200
    with world.house.store.reading() as session:
        assert [row.kind for row in compressor.services(session)] == ["oil", "filter"]


def test_delivery_as_the_maker_says_or_as_we_measured_it(world: World) -> None:
    browser = world.browser("Ines Instructor")
    page = browser.open("/gas/compressor")
    assert "Makers often quote another figure" in page.words()
    bad = page.send("write_output", free_air_l_min="5")
    assert bad.status == 422 and "Free air delivery must be between 10 and 3000 L/min." in bad.words()
    maker = page.send("write_output", free_air_l_min="235")
    assert "235 L/min" in maker.words() and "the maker's figure" in maker.words()
    # 12 L from 50 to 200 bar at 25 °C is 1641 L of air (Lemmon et al. 2000): in 16.41 min, 100 L/min.
    filled = {"litres": "12", "from_bar": "50", "minutes": "16.41", "from_temp_c": "25", "temp_c": "25"}
    lower = maker.send("measure_output", **filled, to_bar="40")
    assert lower.status == 422 and "It began at 50 bar." in lower.words()
    measured = maker.send("measure_output", **filled, to_bar="200")
    assert "measured by us" in measured.words()
    with world.house.store.reading() as session:
        row = compressor.output(session)
        assert row is not None and abs(row.free_air_l_min - 100) < 0.2 and row.minutes == 16.41


def test_a_bad_figure_never_counts_as_passed_and_stops_fills_until_a_good_one(world: World) -> None:
    stock(world, 3)
    browser = world.browser("Ines Instructor")
    good = {
        "oxygen_percent": "20.9",
        "co_ppm": "1",
        "co2_ppm": "420",
        "oil_mg_m3": "0,1",
        "water_mg_m3": "24",
    }
    page = browser.open("/gas/compressor")
    unsaid = page.send("add_air_test", **TESTED, **good, result="")
    assert unsaid.status == 422 and "Choose what the certificate says." in unsaid.words()
    done = page.send("add_air_test", **TESTED, **good, certificate="A-71", result="passed")
    assert done.status == 200 and "A-71" in done.words() and "Oil 0.1 mg/m³" in done.words()
    assert fill(browser).status == 200
    page = done
    for figure, value, rule in (
        ("co_ppm", "6", "air_co_max"),
        ("co2_ppm", "600", "air_co2_max"),
        ("oil_mg_m3", "0.6", "air_oil_max"),
        ("water_mg_m3", "51", "air_water_max"),
        ("oxygen_percent", "23", "air_oxygen_max"),
    ):
        bad = page.send("add_air_test", **TESTED, **{**good, figure: value}, result="passed")
        page = browser.open("/gas/compressor")
        assert rule in page.rules() and "did not pass" in page.words(), bad.words()
        refused = browser.open("/gas/fill").send("fill_several", pick="2", end_bar="200", temp_c="30")
        assert refused.status == 422 and rule in refused.rules()
    with world.house.store.reading() as session:
        kept = session.exec(select(AirTestRow).order_by(col(AirTestRow.id)))
        assert [row.passed for row in kept] == [True, False, False, False, False, False]
    failed = page.send("add_air_test", **TESTED, result="failed")
    assert failed.status == 200 and fill(browser, "210").status == 422
    assert (
        browser.open("/gas/compressor").send("add_air_test", **TESTED, **good, result="passed").status == 200
    )
    assert browser.open("/gas/fill").send("fill_several", pick="2", end_bar="200", temp_c="30").status == 200


def test_wet_air_is_not_filled_above_200_bar(world: World) -> None:
    stock(world, 2)
    browser = world.browser("Ines Instructor")
    browser.open("/gas/compressor").send("add_air_test", **TESTED, water_mg_m3="40", result="passed")
    high = fill(browser, "220")
    assert high.status == 422 and "air_water_max_high" in high.rules()
    assert fill(browser, "200").status == 200


def test_banks_are_added_read_lowered_by_fills_and_changed(world: World) -> None:
    stock(world, 2, bar=50.0)
    manager, browser = world.browser("Mona Manager"), world.browser("Ines Instructor")
    page = manager.open("/gas/compressor")
    done = page.send("add_bank", name="Bank 1", litres="50", rated_bar="300")
    assert done.status == 200 and "not read" in done.words()
    twice = done.send("add_bank", name="Bank 1", litres="50", rated_bar="300")
    assert twice.status == 422 and "is the name of another bank" in twice.words()
    assert not browser.open("/gas/compressor").forms("add_bank")
    above = browser.open("/gas/compressor").send("read_bank", bar="310")
    assert above.status == 200 and "is rated 300 bar" in "".join(above.root.itertext())
    world.clock.pass_minutes(1)
    assert "230 bar" in browser.open("/gas/compressor").send("read_bank", bar="230").words()
    # 50 L at 230 bar into 12 L at 50 bar, 20 °C: both at 190.9 bar (Lemmon et al. 2000).
    filled = browser.open("/gas/fill").send(
        "fill_several", pick="1", end_bar="191", temp_c="20", from_banks="yes"
    )
    assert filled.status == 200
    with world.house.store.reading() as session:
        (bank,) = compressor.banks(session)
        assert bank.reading is not None and bank.reading.worked_out
        assert abs(bank.reading.bar - 190.9) < 0.1
    assert "worked out" in browser.open("/gas/compressor").words()
    stale = manager.open("/gas/compressor")
    changed = manager.open("/gas/compressor").send("change_bank", rated_bar="232", in_use="no")
    assert changed.status == 200 and "out of use" in changed.words()
    clash = stale.send("change_bank", litres="60")
    assert clash.status == 409 and "You wrote" in clash.words()
    with world.house.store.reading() as session:
        assert compressor.stored(session) == {}
    token = manager.open("/gas").find("input", name="token")[0].get("value") or ""
    assert manager.post("/gas/banks/9/reading", {"key": "r" * 32, "token": token, "bar": "5"}).status == 404
    assert manager.post("/gas/banks/9", {"key": "s" * 32, "token": token}).status in (404, 422)
