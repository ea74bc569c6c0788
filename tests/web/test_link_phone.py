"""Linking a phone: opened links change nothing, one phone wins, five tries, ten minutes, ended at once."""

import logging
import re
from datetime import timedelta

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.main import build
from app.records.store.house import open_house
from app.records.tables.device_links import DeviceLinkRow
from app.records.tables.house import TrailRow
from app.records.tables.people import DeviceRow
from app.settings.config import Settings
from tests.server_world import Visitor, at_once, served_here
from tests.web_ready import Ready
from tests.web_world import BASE, PASSPHRASE, Browser, Page, World, whole_store

LINK = re.compile(r"/link/[A-Za-z0-9_-]{43}")
DEVICE = "daybuoy-device"


def make(world: World, name: str = "Jetty phone", by: str = "Dora Desk") -> tuple[Page, str, str]:
    """Make a link; return the page that shows it, the scanned address without its path, and the digits."""
    page = world.browser(by).open("/phones").send("link_phone", name=name)
    assert page.status == 200, page.words()
    code = page.find("strong", id="digits")[0].text or ""
    with world.house.store.reading() as session:
        row = session.exec(select(DeviceLinkRow).order_by(DeviceLinkRow.id.desc())).first()  # type: ignore[union-attr]
    assert row is not None and row.name == name
    return page, str(row.id), code.replace(" ", "")


def scanned(world: World, monkeypatch: pytest.MonkeyPatch) -> str:
    """Make a link and return where its code leads: it is drawn, and written nowhere on the page."""
    from app.web.setup import phones

    seen: list[str] = []
    draw = phones.draw_code
    monkeypatch.setattr(phones, "draw_code", lambda link: seen.append(link) or draw(link))
    page, _, _ = make(world)
    assert not LINK.search(page.text) and len(seen) == 1
    found = LINK.search(seen[0])
    assert found is not None and seen[0].startswith(BASE)
    return found.group()


def devices(world: World) -> list[DeviceRow]:
    with world.house.store.reading() as session:
        return list(session.exec(select(DeviceRow)))


def type_in(world: World, digits: str, phone: Browser | None = None) -> Page:
    return (phone or world.browser()).open("/link").send("use_digits", digits=digits)


def wrong(digits: str) -> str:
    return f"{(int(digits) + 1) % 1_000_000:06d}"


@pytest.mark.parametrize("who", ["Dora Desk", "Lena Lead", "Mona Manager"])
def test_digits_link_a_phone_and_the_shop_sees_it(world: World, who: str) -> None:
    desk = world.browser(who)
    assert "/phones" in {a.get("href") for a in desk.open("/today").find("a")}
    form = desk.open("/phones")
    person = next(o.get("value") or "" for o in form.find("option") if o.text == "Ines Instructor")
    page = form.send("link_phone", name="Jetty phone", person=person)
    assert page.headers["cache-control"] == "no-store" and "from this computer only" in page.words()
    waits = page.find("div", id="linking")[0]
    again = waits.get("hx-get") or ""
    assert waits.get("data-state") == "open" and again in {a.get("href") for a in page.find("a")}
    digits = (page.find("strong", id="digits")[0].text or "").replace(" ", "")
    assert digits not in desk.open(again).text.replace(" ", "")
    phone = world.browser()
    done = type_in(world, f"{digits[:3]} {digits[3:]}", phone)
    assert done.url.split("?")[0].endswith("/sign-in") and "This phone is linked" in done.words()
    assert done.find("option") or "Ines Instructor" in done.text, "a paired device offers the names"
    said = desk.open(again)
    assert said.find("div", id="linking")[0].get("data-state") == "used"
    assert said.find("div", id="linking")[0].get("hx-get") is None
    listed = desk.open("/phones").words()
    assert "Jetty phone" in listed and "Ines Instructor" in listed and "not used yet" in listed
    phone.sign_in("Ines Instructor")
    assert "not used yet" not in desk.open("/phones").words()


def test_opening_a_code_changes_nothing_and_its_button_uses_it_up(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    link = scanned(world, monkeypatch)
    before = whole_store(world.house)
    for _ in range(3):
        page = world.browser().open(link)
        assert page.status == 200 and not re.search("Dora|Jetty", page.text)
    assert whole_store(world.house) == before
    assert page.headers.get_list("referrer-policy") == ["strict-origin"]
    late = world.browser().open(link)
    assert "This phone is linked" in page.send("use_device_link").words()
    over = late.send("use_device_link")
    assert over.status == 404 and "Ask the desk for a new one" in over.words()
    assert len(devices(world)) == 1
    assert world.browser().open(link).status == 404
    assert world.browser().open("/link/" + "x" * 43).status == 404


def test_a_double_send_pairs_one_phone(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    phone = world.browser()
    to, pairs = phone.open(scanned(world, monkeypatch)).form_fields("use_device_link")
    assert phone.post(to, pairs).status == 200 and phone.post(to, pairs).status == 200
    assert len(devices(world)) == 1


def test_a_link_is_good_for_ten_minutes(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    link = scanned(world, monkeypatch)
    _, _, digits = make(world)
    page = world.browser().open(link)
    world.clock.pass_minutes(9.9)
    assert world.browser().open(link).status == 200
    world.clock.pass_minutes(0.1)
    assert page.send("use_device_link").status == 404 and type_in(world, digits).status == 422
    assert devices(world) == []
    assert "No phone was linked" in world.browser("Dora Desk").open("/phones/1").words()


def test_five_wrong_tries_end_the_link_even_over_a_restart(world: World, tmp_path: object) -> None:
    _, number, digits = make(world)
    for _ in range(4):
        assert type_in(world, wrong(digits)).status == 422
    settings = world.house.settings
    world.house.close()
    world.house = open_house(settings, world.clock)
    world.app = build(world.house)
    last = type_in(world, wrong(digits))
    assert last.status == 422 and last.find("input", name="digits")[0].get("value") == wrong(digits)
    assert type_in(world, digits).status == 422 and devices(world) == []
    assert "5 times" in world.browser("Dora Desk").open(f"/phones/{number}").words()
    _, _, newer = make(world)
    assert "This phone is linked" in type_in(world, newer).words(), "earlier tries do not count"


def test_one_address_guesses_twenty_times_an_hour(world: World) -> None:
    _, _, digits = make(world)
    for _ in range(20):
        assert type_in(world, wrong(digits)).status == 422
    assert type_in(world, digits).status == 429
    world.clock.pass_minutes(61)
    _, _, newer = make(world)
    assert "This phone is linked" in type_in(world, newer).words()


@pytest.mark.parametrize("said", ["", "12345", "1234567", "١٢٣٤٥٦", "12 34 5a", "' OR 1=1 --", "9" * 5000])
def test_what_are_no_six_digits_is_no_try(world: World, said: str) -> None:
    _, _, digits = make(world)
    for _ in range(6):
        page = type_in(world, said)
        assert page.status == 422 and page.find("p", id="f-digits-error")
    assert "This phone is linked" in type_in(world, digits).words()


def test_a_strange_field_links_nothing(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    page = world.browser().open(scanned(world, monkeypatch))
    assert page.send("use_device_link", role="manager").status == 422
    _, _, digits = make(world)
    assert world.browser().open("/link").send("use_digits", digits=digits, name="x").status == 422
    assert devices(world) == []


def test_a_taken_back_link_is_over(world: World) -> None:
    page, number, digits = make(world)
    assert "taken back" in page.send("end_link").words()
    assert type_in(world, digits).status == 422 and devices(world) == []
    _, used, newer = make(world)
    open_page = world.browser("Dora Desk").open(f"/phones/{used}")
    type_in(world, newer)
    assert open_page.send("end_link").status == 409 and number != used


def test_a_paired_device_and_a_guest_use_no_link_up(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    phone = world.browser()
    _, _, first = make(world)
    type_in(world, first, phone)
    link = scanned(world, monkeypatch)
    page = phone.open(link)
    assert "linked already" in page.words() and not page.forms("use_device_link")
    assert world.browser().open(link).forms("use_device_link"), "it is not used up"


def test_who_may_link_and_bad_input(world: World) -> None:
    for name in ("Ines Instructor", "Kim Keeper"):
        assert world.browser(name).open("/phones").status == 404
    desk = world.browser("Dora Desk")
    page = desk.open("/phones").send("link_phone", name="")
    assert page.status == 422 and page.find("p", id="f-name-error")
    strange = desk.open("/phones").send("link_phone", name="<b>x</b>", person="987654")
    assert strange.status == 422 and strange.find("input", name="name")[0].get("value") == "<b>x</b>"
    assert desk.open("/phones/987654").status == 404
    token = page.find("input", name="token")[0].get("value") or ""
    for path in ("/phones/987654/end", "/phones/devices/987654/end"):
        assert desk.post(path, {"key": "k" * 32, "token": token}).status == 404
    world.clock.pass_minutes(14)
    asked = desk.open("/phones")
    assert asked.send("link_phone", name="Jetty phone", confirm="wrong").status == 422
    assert desk.open("/phones").send("link_phone", name="Jetty phone", confirm=PASSPHRASE).status == 200


def test_two_phones_at_one_moment_one_wins(world: World) -> None:
    with served_here(world) as port:
        for _ in range(4):
            _, _, digits = make(world)
            before = len(devices(world))
            phones = [Visitor(port) for _ in range(3)]
            forms = [phone.form("/link", "use_digits") for phone in phones]

            def press(phone: Visitor, form: tuple[str, list[tuple[str, str]]], said: str = digits) -> int:
                to, pairs = form
                typed = [(name, said if name == "digits" else value) for name, value in pairs]
                return phone.follow(to, typed)[0]

            answers = at_once(*[lambda p=p, f=f: press(p, f) for p, f in zip(phones, forms, strict=True)])
            assert sorted(answers)[0] == 303 and answers.count(303) == 1, answers
            assert len(devices(world)) == before + 1


def test_token_and_digits_are_in_no_record_log_or_trail(
    world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    link = scanned(world, monkeypatch)
    _, _, digits = make(world)
    type_in(world, wrong(digits))
    world.browser().open(link).send("use_device_link")
    type_in(world, digits)
    with world.house.store.reading() as session:
        rows = session.exec(select(DeviceLinkRow)).all()
        told = "".join(row.changes for row in session.exec(select(TrailRow)))
    assert len(devices(world)) == 2
    stored = repr(whole_store(world.house))
    for secret in (link.removeprefix("/link/"), f"'{digits}'", wrong(digits)):
        assert secret not in stored and secret not in told
    assert all(row.token_hash not in told and row.digits_hash not in told for row in rows)
    ours = [r.getMessage() for r in caplog.records if r.name == "daybuoy"]
    assert any("route=/link/{token}" in line for line in ours)
    assert link not in "".join(ours) and digits not in "".join(ours)


def test_an_ended_phone_is_out_at_the_next_request(world: World) -> None:
    _, _, digits = make(world)
    phone = world.browser()
    type_in(world, digits, phone)
    phone.sign_in("Ines Instructor")
    assert phone.open("/water").status == 200
    desk = world.browser("Dora Desk")
    number = devices(world)[0].id
    assert "Phone ended" in desk.open("/phones").send("end_phone", f"/phones/devices/{number}/end").words()
    for path in ("/water", "/today", "/incidents/new"):
        assert phone.open(path, follow=False).headers.get("location") == "/sign-in", path
    assert "Ines Instructor" not in phone.open("/sign-in").text, "only a paired device offers the names"
    assert "ended" in desk.open("/phones").words()


def test_an_ended_phone_still_brings_its_group_out(ready: Ready) -> None:
    world = ready.world
    _, _, digits = make(world)
    phone = world.browser()
    type_in(world, digits, phone)
    phone.sign_in("Ines Instructor")
    ready.go_in()
    page = phone.open(ready.at("/back"))
    desk = world.browser("Dora Desk")
    desk.open("/phones").send("end_phone")
    done = page.send("mark_back", ready.at(f"/back/{ready.members['Bo']}"))
    assert done.status == 200 and done.find("section", id="ended-device")
    assert not done.find("nav", aria_label="Main")
    (event,) = [one for one in ready.events() if one.event == "back"]
    assert event.member_id == ready.members["Bo"] and "ended" in event.flag
    assert done.send("count_heads", counted="1").status == 200
    assert done.send("mark_back", ready.at(f"/back/{ready.members['Ann']}")).status == 200
    with world.house.store.reading() as session:
        said = [
            row.reason for row in session.exec(select(TrailRow)) if row.act in ("mark_back", "count_heads")
        ]
    assert len(said) == 3 and all("device that the shop had ended" in one for one in said)
    for path in ("/today", ready.at(""), ready.at("/wrap"), "/incidents/new"):
        assert phone.open(path, follow=False).headers.get("location") == "/sign-in", path
    world.clock.at += timedelta(hours=13)
    assert phone.open(ready.at("/back"), follow=False).headers.get("location") == "/sign-in"


def test_an_ended_phone_still_sends_everything_that_brings_people_out(ready: Ready) -> None:
    world = ready.world
    _, _, digits = make(world)
    phone = world.browser()
    type_in(world, digits, phone)
    phone.sign_in("Ines Instructor")
    ready.go_in()
    incident = phone.open("/incidents/new")
    phone.open(ready.at("/back")).send("mark_back", ready.at(f"/back/{ready.members['Bo']}"))
    page = phone.open(ready.at("/back"))
    world.browser("Dora Desk").open("/phones").send("end_phone")
    bo = ready.members["Bo"]
    page.send("still_in", ready.at(f"/still-in/{bo}"), why="mixed up")
    assert "Bo" in ready.in_water()
    page.send("call_off", why="Thunder")
    assert ready.group().aborted_at is not None
    page.send("report_missing", member=str(bo), last_seen="At the buoy")
    found = phone.open(ready.at("/back"))
    found.send("report_found", member=str(bo), where="At the steps")
    kept = incident.send(
        "write_incident", what="A guest sat down, pale.", category="equipment", severity="near-miss"
    )
    assert kept.url.endswith("/sign-in"), "stored, and nothing is shown"
    acts = ("still_in", "call_off", "report_missing", "report_found", "write_incident")
    with world.house.store.reading() as session:
        said = {row.act: row.reason for row in session.exec(select(TrailRow)) if row.act in acts}
    assert set(said) == set(acts)
    assert all("device that the shop had ended" in one for one in said.values()), said
    refused = page.send("read_on_the_way") if page.forms("read_on_the_way") else phone.open(ready.at("/wrap"))
    assert "sign-in" in refused.url


def test_k3_the_cookie_works_over_plain_http_on_the_house_network(world: World) -> None:
    _, _, digits = make(world)
    host = "192.168.7.20"
    given = world.house.settings
    world.house.settings = Settings(data=given.data, database_url=given.database_url, host=host)
    origin = f"http://{host}:8000"
    client = TestClient(build(world.house), base_url=origin)
    world.clients.append(client)
    page = Browser(client).open("/link")
    to, pairs = page.form_fields("use_digits")
    sent = {**dict(pairs), "digits": digits}
    answer = client.post(to, data=sent, headers={"Origin": origin}, follow_redirects=False)
    cookie = next(one for one in answer.headers.get_list("set-cookie") if one.startswith(DEVICE))
    assert answer.status_code == 303 and "HttpOnly" in cookie and "Secure" not in cookie
    assert "Domain" not in cookie and "samesite=strict" in cookie.lower()
    paired = Browser(client).open("/sign-in")
    assert "Ines Instructor" in paired.text
