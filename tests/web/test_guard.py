"""The outermost layer: hosts, origins, methods, sizes, headers, one-use keys."""

from urllib.parse import urlencode

from app.web.guard import HEADERS
from tests.web_world import BASE, World


def test_every_answer_carries_the_headers(world: World) -> None:
    browser = world.browser()
    for path in ("/sign-in", "/nothing-here", "/up", "/static/daybuoy.css", "/today"):
        answer = browser.client.get(path, follow_redirects=False)
        for name, value in HEADERS.items():
            assert answer.headers[name] == value, (path, name)
    assert browser.client.get("/sign-in").headers["cache-control"] == "no-store"


def test_a_strange_host_is_refused(world: World) -> None:
    answer = world.browser().client.get("/sign-in", headers={"Host": "evil.example"})
    assert answer.status_code == 403


def test_forms_from_other_origins_are_refused(world: World) -> None:
    browser = world.browser()
    to, pairs = browser.open("/sign-in").form_fields("sign_in")
    for origin in ("http://127.0.0.1:9999", "http://evil.example", "null", None):
        headers = {"Content-Type": "application/x-www-form-urlencoded"}
        if origin is not None:
            headers["Origin"] = origin
        answer = browser.client.post(to, content=urlencode(pairs), headers=headers)
        assert answer.status_code == 403, origin


def test_a_form_without_this_sign_ins_token_is_refused(world: World) -> None:
    browser, other = world.browser("Dora Desk"), world.browser("Mona Manager")
    _, pairs = other.open("/today").form_fields("sign-out")
    assert browser.post("/sign-out", pairs, follow=False).status == 403
    assert browser.open("/today").status == 200 and "Dora Desk" in browser.open("/today").text


def test_other_methods_and_big_forms_are_refused(world: World) -> None:
    client = world.browser().client
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS"):
        assert client.request(method, "/sign-in", headers={"Origin": BASE}).status_code == 405
    headers = {"Origin": BASE, "Content-Type": "application/x-www-form-urlencoded"}
    answer = client.post("/sign-in", content=b"x" * 300_000, headers=headers)
    assert answer.status_code == 413
    chunks = client.post("/sign-in", content=(b"y" * 1000 for _ in range(400)), headers=headers)
    assert chunks.status_code == 413
    assert client.head("/sign-in").status_code == 200 and client.head("/sign-in").text == ""


def test_a_form_sent_twice_is_carried_out_once(world: World) -> None:
    browser = world.browser("Mona Manager")
    to, pairs = browser.open("/setup/sites").form_fields("add_site")
    pairs = [(name, "Quarry" if name == "name" else value) for name, value in pairs]
    first = browser.post(to, pairs, follow=False)
    again = browser.post(to, pairs, follow=False)
    assert first.status == again.status == 303
    assert first.headers["location"] == again.headers["location"]
    other = [(name, "Elsewhere" if name == "name" else value) for name, value in pairs]
    assert browser.post(to, other).status == 409
    browser.open("/today").send("sign-out")
    assert browser.post(to, pairs, follow=False).status == 303
    page = world.browser("Mona Manager").open("/setup/sites")
    assert sum(1 for h2 in page.find("h2") if "".join(h2.itertext()) == "Quarry") == 1
    assert "Elsewhere" not in page.text


def test_unknown_doubled_and_broken_fields_are_refused(world: World) -> None:
    browser = world.browser("Mona Manager")
    for extra in ([("surprise", "1")], [("name", "Second")]):
        to, pairs = browser.open("/setup/sites").form_fields("add_site")
        pairs = [(name, "Quarry" if name == "name" else value) for name, value in pairs]
        assert browser.post(to, [*pairs, *extra]).status == 422
    page = browser.open("/setup/sites")
    for name in ("a\u202eb", "a\x07b"):
        refused = browser.open("/setup/sites").send("add_site", name=name)
        assert refused.status == 422 and "control characters" in refused.words()
    assert "Quarry" not in browser.open("/setup/sites").text and page.status == 200


def test_a_lapsed_sign_in_is_refused_at_the_next_request(world: World) -> None:
    browser = world.browser("Dora Desk")
    world.clock.pass_minutes(10)
    assert browser.open("/today").url.endswith("/today")
    world.clock.pass_minutes(16)
    assert browser.open("/today").url.endswith("/sign-in")


def test_wrong_tries_make_a_person_wait(world: World) -> None:
    browser = world.browser()
    for _ in range(5):
        assert (
            browser.open("/sign-in").send("sign_in", name="Dora Desk", secret="wrong words here").status
            == 422
        )
    waiting = browser.open("/sign-in").send("sign_in", name="Dora Desk", secret="wrong words here")
    assert waiting.status == 429 and int(waiting.headers["retry-after"]) <= 30
    world.clock.pass_minutes(1)
    assert "/today" in browser.sign_in("Dora Desk").url
