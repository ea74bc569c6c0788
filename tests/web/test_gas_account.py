"""The gas account through HTTP: it balances, losses are named, and the day's log says the same."""

from datetime import timedelta

import pytest
from CoolProp.CoolProp import PropsSI

from app.planning.gas_account import Flow, Line
from app.records.gas_room.gas_account import GasAccount, gas_accounts, surface_bar, whole_account
from app.records.look_back.gas_log import gas_day
from app.records.tables.compressor import BankReadingRow, BankRow, CompressorOutputRow
from app.records.tables.cylinders import CompressorRow, ReadingRow
from app.records.tables.house import ShopRow
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, Page, World

# The cylinders of a group of tests.
LITRES = 15


def account(world: World, first: int = 0) -> GasAccount:
    """Return today's account, or of the days up to today."""
    with world.house.store.reading() as session:
        return whole_account(session, DAY - timedelta(days=first), DAY)


def of(found: GasAccount, name: str) -> Line:
    """Return the line of one cylinder or bank, by number in the store or by name."""
    return next(line for store, line in found.lines if name in (store.key, store.name))


def content(litres: float, gauge_bar: float, temp_c: float, around: float = 1.01325) -> float:
    """Return litres at 1.01325 bar and 15 C after Lemmon et al. (2000), by CoolProp."""
    dense = float(PropsSI("D", "T", temp_c + 273.15, "P", (gauge_bar + around) * 1e5, "Air"))
    return litres * dense / float(PropsSI("D", "T", 288.15, "P", 1.01325e5, "Air"))


def picture(page: Page) -> str:
    """Return the source of the one picture of a page."""
    (figure,) = page.text.split('<figure class="chart">')[1:]
    svg = figure.split("</figure>")[0]
    assert 'role="img"' in svg and "<title" in svg and "<desc" in svg and "<figcaption>" in svg
    return svg


def read(world: World, cylinder_id: int, bar: float, temp_c: float | None = None, why: str = "check") -> None:
    """Read a gauge in the gas room."""
    with world.act() as act:
        act.add(
            ReadingRow(
                cylinder_id=cylinder_id, bar=bar, read_value=bar, temp_c=temp_c, why=why, at=act.now, by="x"
            )
        )


def test_a_dive_is_breathed_and_the_account_adds_up(ready: Ready) -> None:
    ready.whole_dive(Ann=90)
    found = account(ready.world)
    total = found.total
    with ready.world.house.store.reading() as session:
        day = gas_day(session, DAY)
    assert total.of(Flow.BREATHED) == pytest.approx(day.used_litres) and day.used_litres > 1000
    assert total.of(Flow.FILLED) == pytest.approx(day.filled_litres) and day.filled_litres > 1000
    assert day.used_bar_l == pytest.approx(day.used_litres * 1.01325)
    assert abs(total.unexplained) < 1e-6 and all(abs(line.unexplained) < 1e-6 for _, line in found.lines)
    assert total.closing == pytest.approx(
        sum(content(LITRES, bar, 16) for bar in (90, 100, 100)), rel=2e-3
    ), "each cylinder holds what its diver brought back"
    page = ready.world.browser(GUIDE).open("/gas/account")
    words = page.words()
    assert f"{total.of(Flow.BREATHED):.0f} L were breathed and {total.of(Flow.FILLED):.0f} L filled" in words
    assert "Nothing is missing beyond what heat and gauges explain." in words
    assert f"{total.of(Flow.BREATHED) * 1.01325:.0f} bar·L" in words and "Group A, Long Jetty" in words
    svg = picture(page)
    assert 'aria-labelledby="account-title account-text"' in svg and "At the start" in svg
    log = ready.world.browser("Mona Manager").open("/look-back").words()
    assert f"{day.used_bar_l:.0f} bar·L" in log and f"{day.filled_litres:.0f} L" in log


def test_a_leak_over_night_is_missing_tomorrow_and_named(ready: Ready) -> None:
    ready.whole_dive()
    ready.world.clock.pass_minutes(24 * 60)
    read(ready.world, 1, 40)
    with ready.world.house.store.reading() as session:
        today, tomorrow = gas_accounts(session, DAY, DAY + timedelta(days=1))
    assert today.total.closing == pytest.approx(tomorrow.total.opening)
    assert today.total.of(Flow.LOST) == 0
    lost = content(LITRES, 100, 16) - content(LITRES, 40, 20)
    assert tomorrow.total.of(Flow.LOST) == pytest.approx(lost, rel=1e-2)
    ((store, litres),) = tomorrow.losing
    assert store.href == "/gas/cylinders/1" and litres == pytest.approx(tomorrow.total.of(Flow.LOST))
    page = ready.world.browser("Ines Instructor").open("/gas/account")
    assert f"{litres:.0f} L are missing: look at {store.name}." in page.words()
    week = ready.world.browser("Lena Lead").open("/gas/account?span=week")
    assert f"{litres:.0f} L are missing" in week.words() and "Thu 16 Jul" in week.words()
    svg = picture(week)
    assert f"{litres:.0f} L missing" in svg and svg.count("breathed") >= 7


def test_cooling_is_no_loss_and_draining_is_its_own(ready: Ready) -> None:
    read(ready.world, 1, 200, 35)
    ready.world.clock.pass_minutes(90)
    read(ready.world, 1, 188)
    ready.world.clock.pass_minutes(1)
    read(ready.world, 1, 0, why="drained")
    line = of(account(ready.world), "1")
    assert line.of(Flow.LOST) == 0
    assert line.of(Flow.DRAINED) == pytest.approx(content(LITRES, 188, 20) - LITRES, rel=5e-3)


def test_the_shops_own_air_pressure_is_reckoned_with(ready: Ready) -> None:
    before = of(account(ready.world), "1").closing
    read(ready.world, 1, 100, 20)
    sea = of(account(ready.world), "1").closing
    with ready.world.act() as act:
        act.edit(act.get(ShopRow, 1), None, {"surface_pressure_bar": 0.8}, {})
    high = of(account(ready.world), "1").closing
    assert before != sea == pytest.approx(content(LITRES, 100, 20), rel=1e-3)
    assert high == pytest.approx(content(LITRES, 100, 20, 0.8), rel=1e-3)


def test_what_the_compressor_made_is_held_against_the_fills(ready: Ready) -> None:
    page = ready.phone.open("/gas/account")
    assert "what it made is not known" in page.words()
    with ready.world.act() as act:
        act.add(CompressorRow(hours=100, at=act.now, by=GUIDE))
        act.add(CompressorRow(hours=101.5, at=act.now + timedelta(hours=2), by=GUIDE))
    pumped = account(ready.world).pumped_litres
    assert f"{pumped / 90:.0f} L for each minute on the meter" in ready.phone.open("/gas/account").words()
    with ready.world.act() as act:
        act.add(CompressorOutputRow(free_air_l_min=100, at=act.now, by=GUIDE))
    words = ready.phone.open("/gas/account").words()
    assert (
        "It ran 1.5 h at 100 L/min: 9000 L made." in words
        and f"{9000 - pumped:.0f} L went elsewhere" in words
    )


def test_a_bank_is_part_of_it(ready: Ready) -> None:
    with ready.world.act() as act:
        bank = act.add(BankRow(name="North", litres=50, rated_bar=230))
        for minute, (bar, worked_out) in enumerate(((150, False), (220, False), (200, True))):
            at = act.now + timedelta(minutes=minute)
            act.add(BankReadingRow(bank_id=bank.id or 0, bar=bar, worked_out=worked_out, at=at, by=GUIDE))
    found = account(ready.world)
    line = of(found, "Bank North")
    assert line.of(Flow.GIVEN) == pytest.approx(content(50, 220, 20) - content(50, 200, 20), rel=2e-3)
    assert found.pumped_litres == pytest.approx(found.total.of(Flow.FILLED) - line.of(Flow.GIVEN))
    assert "Bank North" in ready.phone.open("/gas/account").words()


def test_a_corrected_pressure_counts_at_its_first_time(ready: Ready) -> None:
    ready.whole_dive(Ann=90)
    before = account(ready.world).total.of(Flow.BREATHED)
    at = ready.at(f"/pressures/{ready.members['Ann']}/end")
    ready.page("/wrap").send("put_pressure_right", at, bar="60", why="Misread")
    after = account(ready.world).total.of(Flow.BREATHED)
    assert after - before == pytest.approx(content(LITRES, 90, 16) - content(LITRES, 60, 16), rel=5e-3)


def test_who_reads_it_and_which_days(world: World) -> None:
    for name, status in (
        ("Dora Desk", 404),
        ("Kim Keeper", 404),
        ("Ines Instructor", 200),
        ("Lena Lead", 200),
        ("Mona Manager", 200),
    ):
        browser = world.browser(name)
        assert browser.open("/gas/account").status == status, name
        assert browser.open("/gas/account?span=week").status == status, name
    lead = world.browser("Lena Lead")
    assert "The account begins with the first cylinder." in lead.open("/gas/account").words()
    assert lead.open("/gas/account?span=year").status == 404
    assert lead.open("/gas/account?day=nonsense").status == 404
    for span in ("day", "week"):
        for day in ("2000-01-01", "2100-12-31"):
            assert lead.open(f"/gas/account?span={span}&day={day}").status == 200


def test_the_manager_sets_the_air_pressure_at_the_shop(world: World) -> None:
    manager = world.browser("Mona Manager")
    page = manager.open("/setup/shop")
    assert page.find("input", name="surface_pressure_bar")[0].get("value") == "1.01325"
    bad = page.send("change_shop", surface_pressure_bar="1013")
    assert bad.status == 422 and "Air pressure at the shop must be between 0.5 and 1.1 bar." in bad.words()
    done = page.send("change_shop", surface_pressure_bar="0.95")
    assert done.status == 200 and done.find("input", name="surface_pressure_bar")[0].get("value") == "0.95"
    with world.house.store.reading() as session:
        assert surface_bar(session) == 0.95
