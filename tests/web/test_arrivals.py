"""Marking parties as here: one tap, undone by another, once for each word."""

from datetime import timedelta

from sqlmodel import select

from app.records.tables.arrivals import ArrivalRow
from app.records.tables.parties import PartyRow
from app.records.welcome.arrivals import here_since
from tests.groups_world import book
from tests.web_world import World


def test_a_party_is_here_and_not_here_after_all(world: World) -> None:
    book(world, "Ann", "Bo")
    desk = world.browser("Dora Desk")
    page = desk.open("/welcome")
    to, pairs = page.form_fields("mark_arrival")
    done = desk.post(to, pairs)
    assert "Written down." in done.words() and "here since 09:00" in done.words()
    assert desk.post(to, pairs).status == 200
    world.clock.pass_minutes(5)
    stale = desk.open("/welcome").send("mark_arrival")
    assert "here since" not in stale.words() and "They are here" in stale.words()
    with world.house.store.reading() as session:
        assert [row.here for row in session.exec(select(ArrivalRow))] == [True, False]
        assert here_since(session, session.exec(select(PartyRow))) == {}
    # The same word twice is one record, also from an older page.
    again = dict(pairs) | {"key": "a" * 32}
    desk.post(to, again)
    desk.post(to, again | {"key": "b" * 32})
    with world.house.store.reading() as session:
        assert [row.here for row in session.exec(select(ArrivalRow))] == [True, False, True]


def test_who_marks_and_what_is_refused(world: World) -> None:
    book(world, "Ann")
    desk = world.browser("Dora Desk")
    to, pairs = desk.open("/welcome").form_fields("mark_arrival")
    wrong = desk.post(to, dict(pairs) | {"here": "maybe"})
    assert wrong.status == 422 and "here or not" in wrong.words()
    assert not world.browser("Mona Manager").open("/welcome").forms("mark_arrival")
    assert desk.post(to.replace("/1/", "/99/"), dict(pairs) | {"key": "c" * 32}).status == 404
    world.clock.pass_minutes(timedelta(days=1).total_seconds() / 60)
    late = world.browser("Dora Desk")
    token = late.open("/welcome").find("input", name="token")[0].get("value") or ""
    assert late.post(to, {"key": "d" * 32, "token": token, "here": "yes"}).status == 404
