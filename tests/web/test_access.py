"""Who may open what: the table is complete, and roles outside it find nothing."""

import json
import re

import pytest

from app.cli import main
from app.web.access import ANYBODY, GUEST, TABLE
from app.web.route_table import route_table, routes
from tests.web_world import PEOPLE, World

OWN_ANSWERS = {"static"}


def test_every_route_has_its_line_and_every_line_its_route() -> None:
    named = {route.name for route in routes()}
    assert named - set(TABLE) == set(), "routes open to nobody"
    assert set(TABLE) - named - OWN_ANSWERS == set(), "lines without a route"


def test_addresses_are_used_once_for_each_method() -> None:
    seen = [(row["method"], row["path"]) for row in route_table()]
    assert len(seen) == len(set(seen))


def test_the_table_is_printed_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["routes"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert {"method", "path", "action", "roles", "object_rule"} == set(rows[0])
    assert len(rows) == len(route_table())


@pytest.mark.parametrize("name", PEOPLE)
def test_pages_of_other_roles_are_not_there(world: World, name: str) -> None:
    browser = world.browser(name)
    roles = set(PEOPLE[name].split())
    for row in route_table():
        path = re.sub(r"\{[^}]*\}", "987654", row["path"])
        if row["method"] != "GET" or ANYBODY in row["roles"]:
            continue
        page = browser.open(path, follow=False)
        if not roles & set(row["roles"]):
            assert page.status == 404, (name, path, page.status)
        elif "{" in row["path"]:
            assert page.status in (303, 404), (name, path, page.status)
        else:
            assert page.status in (200, 303, 404), (name, path, page.status)


def test_nobody_is_led_to_sign_in_and_posts_are_refused(world: World) -> None:
    browser = world.browser()
    for row in route_table():
        path = re.sub(r"\{[^}]*\}", "987654", row["path"])
        if ANYBODY in row["roles"]:
            continue
        if row["method"] == "GET":
            page = browser.open(path, follow=False)
            wanted = "/guest/done" if set(row["roles"]) == {GUEST} else "/sign-in"
            assert page.status == 303, path
            assert page.headers["location"] == wanted, path
        else:
            assert browser.post(path, {"key": "k" * 32, "token": "x"}, follow=False).status in (403, 404), (
                path
            )
