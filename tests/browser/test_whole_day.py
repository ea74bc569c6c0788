"""One day of a small shop, from pairing the tablet to the day sheet, on a phone, a tablet and a laptop."""

from pathlib import Path

import pytest

from tests.browser import story
from tests.browser.hands import NewContext
from tests.browser.live import serving
from tests.web_world import make_world


def test_a_whole_day(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        day = story.open_windows(world, origin, new_context)
        story.pair_the_tablet(day)
        story.add_cylinders(day)
        story.check_the_emergency_kit(day)
        story.book_the_party(day)
        for guest in story.GUESTS:
            story.fill_the_guest_form(day, guest)
        story.fill_cylinders(day)
        story.look_at_the_water(day)
        story.make_the_group(day)
        story.give_cylinders(day)
        story.issue_the_plan(day)
        world.clock.pass_minutes(70)
        story.get_ready(day)
        story.go_in(day)
        world.clock.pass_minutes(18)
        story.come_back(day)
        world.clock.pass_minutes(10)
        story.wrap_up(day)
        world.clock.pass_minutes(300)
        story.close_the_day(day)
        story.read_the_day_sheet(day)
        assert day.watch.wrong == []
    world.house.close()
