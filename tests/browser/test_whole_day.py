"""One day of a small shop, from pairing the tablet to the day sheet, on a phone, a tablet and a laptop."""

from pathlib import Path

from playwright.sync_api import expect

from tests.browser import story
from tests.browser.hands import NewContext
from tests.browser.live import serving
from tests.web_world import make_world

# Board pages ask again every ten seconds.
BOARD_WAIT_MS = 25_000


def test_a_whole_day(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        day = story.open_windows(world, origin, new_context)
        story.tell(day, in_the_water=boards_show_who_is_in)
        story.read_the_day_sheet(day)
        assert day.watch.wrong == []
    world.house.close()


def boards_show_who_is_in(day: story.Day) -> None:
    """The manager's board, opened before, shows everybody by itself; the tablet's does when it is opened."""
    people = dict.fromkeys(story.START_BAR, "in")
    expect(day.manager.page.locator("#board [data-person]")).to_have_count(len(people), timeout=BOARD_WAIT_MS)
    assert day.manager.people() == people
    day.desk.go("/today")
    expect(day.tablet.locator(".in-water")).to_contain_text("3 in the water")
    day.desk.follow("3 in the water")
    assert day.desk.people() == people
    # On the phone the first word of the roll call in is how many are not marked yet.
    assert "3 not marked as back" in day.instructor.words()
