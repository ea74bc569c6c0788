"""What we learn: five charts, each with a finding that a manager can act on."""

from datetime import timedelta

from sqlmodel import select

from app.records.look_back.learning import DIVED, NOT_COME, OTHER, Learning, learning
from app.records.setup.shop import the_shop
from app.records.tables.parties import PartyRow
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
    assert "2 of 3 booked guests dived. Most of the others: did not come (1)." in words
    assert "1 of 3 did not come" in words and "wait longest" in words


def test_who_may_still_dive_today_is_not_counted_as_ashore(world: World) -> None:
    book(world, "Ann")
    assert sum(taught(world).ends.values()) == 0
    world.clock.pass_minutes(6 * 60)
    assert taught(world).ends[OTHER] == 1
