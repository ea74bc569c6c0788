"""What we learn: five charts, each with a finding that a manager can act on."""

import re
from datetime import timedelta

from sqlmodel import select

from app.planning.shares import Share
from app.records.look_back.learning import (
    ASHORE_TALK,
    CANCELLED,
    DIVED,
    NOT_COME,
    OTHER,
    OWN_WISH,
    Learning,
    SkillLearned,
    Wait,
    learning,
)
from app.records.setup.shop import the_shop
from app.records.tables.parties import PartyRow
from app.web.look_back.learning import _ends_say, _no_shows_say, _skills_say, _waits_say
from tests.groups_world import book
from tests.web_ready import GUIDE, Ready
from tests.web_world import DAY, World

HERE = "/look-back/learning"


def taught(world: World, days: int = 30) -> Learning:
    """Return what the days up to today teach."""
    with world.house.store.reading() as session:
        shop = the_shop(session)
        return learning(session, shop, DAY - timedelta(days=days - 1), DAY, world.clock())


def test_a_shop_without_a_day_says_what_is_missing(world: World) -> None:
    words = world.browser("Mona Manager").open(HERE).words()
    for said in ("No dive with a plan", "No skill was signed off", "They are here", "Nobody was booked"):
        assert said in words
    for days in ("30", "365"):
        assert world.browser("Mona Manager").open(f"{HERE}?days={days}").status == 200
    for wrong in ("7", "x", "-1"):
        assert world.browser("Mona Manager").open(f"{HERE}?days={wrong}").status == 404
    for name in (GUIDE, "Dora Desk", "Kim Keeper", "Lena Lead"):
        assert world.browser(name).open(HERE).status == 404, name


def test_a_dive_fills_every_chart(ready: Ready) -> None:
    world = ready.world
    book(world, "Late")
    with world.house.store.reading() as session:
        late = max(row.id or 0 for row in session.exec(select(PartyRow)))
    desk = world.browser("Dora Desk")
    to, pairs = desk.open("/welcome").form_fields("mark_arrival", "/parties/1/here")
    assert desk.post(to, pairs).status == 200
    world.clock.pass_minutes(4)
    ready.whole_dive(Ann=140, Bo=20)
    desk = world.browser("Dora Desk")
    desk.open(f"/parties/{late}").send("no_show_party")
    found = taught(world)
    (wait,) = found.waits
    assert wait.parties == 1 and 4 <= wait.middle <= 8 and wait.nine_of_ten == wait.middle
    assert found.ends[DIVED] == 2 and found.ends[NOT_COME] == 1 and found.ends[OTHER] == 0
    told = dict(found.no_shows)
    assert sum(one.of for one in told.values()) == 3 and sum(one.count for one in told.values()) == 1
    assert all(one.again.of == 2 and one.tries >= 2 for one in found.skills) and found.skills
    words = world.browser("Mona Manager").open(HERE).words()
    assert "1 of 2 dives ended inside the band of their plan (likely 9 to 91 %). Too few to tell." in words
    assert "2 of 3 booked guests dived. The others: did not come 1." in words
    assert "1 of 3 did not come" in words and re.search(r"The party of 10:30 waited \d+ min from", words)


def test_a_mark_that_was_taken_back_was_no_try(ready: Ready) -> None:
    before = {one.skill: one for one in taught(ready.world).skills}
    at = f"/skills/{ready.guests['Bo']}"
    ready.page(at).send("sign_guest_skills", equalise="needs-work")
    (tried,) = [one for one in taught(ready.world).skills if one.skill == "equalise"]
    assert (tried.again.count, tried.tries) == (1, before["equalise"].tries + 1)
    ready.page(at).send("undo_skills", why="the wrong guest")
    assert {one.skill: one for one in taught(ready.world).skills} == before


def test_who_may_still_dive_today_is_not_counted_as_ashore(world: World) -> None:
    book(world, "Ann")
    assert sum(taught(world).ends.values()) == 0
    world.clock.pass_minutes(6 * 60)
    assert taught(world).ends[OTHER] == 1


def test_a_finding_says_no_more_than_its_figures() -> None:
    def say(**told: object) -> Learning:
        plain = {"skills": (), "waits": (), "without_arrival": 0, "ends": {}, "no_shows": ()}
        return Learning(**{**plain, **told})  # type: ignore[arg-type]

    def skills(*told: tuple[str, int, int]) -> str:
        return _skills_say(say(skills=tuple(SkillLearned(key, Share(n, of), of) for key, n, of in told)))

    # One guest who needed a skill twice does not outweigh two hundred others.
    assert "30 of 200" in skills(("mask_clear", 30, 200), ("equalise", 1, 1))
    assert skills(("mask_clear", 90, 200), ("equalise", 9, 200)).endswith("Give it more time.")
    assert "may need as many. Give both" in skills(("mask_clear", 30, 200), ("equalise", 28, 200))
    assert skills(("mask_clear", 2, 5)).endswith("Too few to tell yet.")

    waits = (Wait("09:00", 30, 20.0, 40.0), Wait("10:30", 30, 45.0, 70.0))
    said = "Half of the 30 parties of 10:30 waited 45 min or more from arriving to the water"
    assert _waits_say(say(waits=waits)) == f"{said}, longer than at any other start."
    assert _waits_say(say(waits=waits[1:])) == f"{said}."

    ends = {DIVED: 80, ASHORE_TALK: 6, OWN_WISH: 5, NOT_COME: 7, CANCELLED: 0, OTHER: 0}
    others = "did not come 7, stayed ashore after a talk 6, would rather not dive 5"
    assert _ends_say(say(ends=ends)) == f"80 of 98 booked guests dived. The others: {others}."

    def no_shows(*told: tuple[str, int, int]) -> str:
        return _no_shows_say(say(no_shows=tuple((when, Share(n, of)) for when, n, of in told)))

    early, late = "7 days or more before", "the day before"
    # A single one of a few hides nothing, and what may be chance is not said to stand out.
    assert "12 %. Ring them before." in no_shows((early, 24, 200), (late, 2, 200), ("on the day", 1, 1))
    assert no_shows((early, 12, 200), (late, 11, 200)).endswith("No time of booking stands out.")
    assert no_shows((early, 1, 5), (late, 0, 6)).endswith("Too few to tell when to ring them.")
    assert no_shows((early, 0, 50)) == "All 50 guests who booked ahead came."
