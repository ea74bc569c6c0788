"""What every page stands on: H5, J1 to J3, K1 to K4, L3 as seen by a browser."""

import logging
import re
from datetime import UTC, datetime
from urllib.parse import quote, urlencode

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.main import build
from app.records.setup.shop import shop_row
from app.records.tables.groups import GroupRow
from app.records.tables.house import SiteRow
from app.settings.config import VERSION
from tests.groups_world import book, group_of, members_of, water_event
from tests.web_world import BASE, PASSPHRASE, Browser, World


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


def test_k3_cookies_are_out_of_reach_and_with_https_guarded_by_their_name(world: World) -> None:
    plain = world.browser().open("/sign-in").headers["set-cookie"]
    assert plain.startswith("daybuoy=") and "HttpOnly" in plain and "SameSite=strict" in plain
    assert "Secure" not in plain and "Domain" not in plain
    world.house.settings = world.house.settings.model_copy(update={"https": True})
    client = TestClient(build(world.house), base_url=BASE.replace("http:", "https:"))
    page = Browser(client).open("/sign-in")
    guarded = page.headers["set-cookie"]
    assert guarded.startswith("__Host-daybuoy=") and "Secure" in guarded and "Path=/" in guarded
    to, pairs = page.form_fields("sign_in")
    typed = [(n, v) for n, v in pairs if n not in ("name", "secret")]
    typed += [("name", "Dora Desk"), ("secret", PASSPHRASE)]
    headers = {"Origin": BASE.replace("http:", "https:"), "Content-Type": "application/x-www-form-urlencoded"}
    answer = client.post(to, content=urlencode(typed), headers=headers, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/today")
    assert client.get("/today", follow_redirects=False).status_code == 200
    from_http = client.post(to, content=urlencode(typed), headers={**headers, "Origin": BASE})
    assert from_http.status_code == 403


def test_j1_l3_a_fault_of_ours_says_nothing_of_what_was_typed(
    world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def faulty(*_: object) -> None:
        raise RuntimeError("Pella Windrow 555 0111")

    manager = world.browser("Mona Manager")
    to, pairs = manager.open("/setup/sites").form_fields("add_site")
    monkeypatch.setattr("app.actions.setup.shop_setup.save_site", faulty)
    caplog.set_level(logging.INFO, "daybuoy")
    headers = {"Origin": BASE, "Content-Type": "application/x-www-form-urlencoded"}
    sent = [(name, "Quarry" if name == "name" else value) for name, value in pairs]
    answer = manager.client.post(to, content=urlencode(sent), headers=headers)
    assert answer.status_code == 500
    for word in ("Windrow", "555 0111", "RuntimeError", "Traceback", "app/", VERSION):
        assert word not in answer.text, word
    assert "Windrow" not in caplog.text and "Quarry" not in caplog.text
    reference = re.search(r"<b>([0-9a-f]{8})</b>", answer.text)
    assert reference is not None and f"ref={reference.group(1)} kind=RuntimeError" in caplog.text
    monkeypatch.undo()
    assert manager.post(to, sent).status == 200, "the same form, sent again, is stored once"
    with world.house.store.reading() as session:
        assert [site.name for site in session.exec(select(SiteRow))].count("Quarry") == 1


def test_l3_no_answer_of_refusal_repeats_what_others_typed(world: World) -> None:
    book(world, "Zanzibarine")
    for name in (None, "Kim Keeper"):
        browser = world.browser(name)
        for path in ("/parties/1", "/guests/1/edit", "/welcome/book", "/setup/people/1", "/nothing"):
            answer = browser.client.get(path, follow_redirects=False)
            assert answer.status_code in (303, 404) and "Zanzibarine" not in answer.text, (name, path)
        there, absent = (browser.client.get(path).text for path in ("/parties/1", "/parties/99"))
        unmarked = [
            re.sub(r"<b>[0-9a-f]{8}</b>|value=\"[0-9A-Za-z_-]{22,}\"", "", page) for page in (there, absent)
        ]
        assert unmarked[0] == unmarked[1], "not allowed and not there look the same"
