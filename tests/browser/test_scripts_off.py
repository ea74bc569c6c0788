"""Every job of the day is done with scripts off: forms and links carry it alone."""

from pathlib import Path

from tests.browser import story
from tests.browser.hands import NewContext
from tests.browser.live import serving
from tests.web_world import make_world


def test_a_whole_day_without_scripts(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        day = story.open_windows(world, origin, new_context, java_script_enabled=False)
        story.tell(day)
        story.read_the_day_sheet(day)
        assert day.watch.wrong == []
    world.house.close()


def test_the_board_asks_again_by_itself_without_scripts(tmp_path: Path, new_context: NewContext) -> None:
    world = make_world(tmp_path)
    with serving(world.house) as origin:
        day = story.open_windows(world, origin, new_context, java_script_enabled=False)
        day.manager.go("/today/water")
        assert "Nobody is in the water" in day.manager.words()
        refresh = day.manager.page.locator('meta[http-equiv="refresh"]')
        assert refresh.get_attribute("content") == "20"
    world.house.close()
