"""What the page for coming back in says of the gauges while the group is in the water."""

from tests.web_ready import Ready


def _read(ready: Ready, **bars: int) -> None:
    said = {f"bar_{ready.members[name]}": str(bar) for name, bar in bars.items()}
    page = ready.page("/back").send("read_pressures", moment="during", **said)
    assert page.status == 200


def test_the_lowest_gauge_turns_the_group_at_the_turn_pressure(ready: Ready) -> None:
    ready.go_in()
    assert "Turn now" not in ready.page("/back").words()
    _read(ready, Ann=150, Bo=101)
    assert "Turn now" not in ready.page("/back").words()
    _read(ready, Bo=100)
    assert "Turn now: Bo reads 100 bar" in ready.page("/back").words()
    _read(ready, Ann=95)
    assert "Turn now: Ann reads 95 bar" in ready.page("/back").words()


def test_who_is_back_turns_nobody(ready: Ready) -> None:
    ready.go_in()
    _read(ready, Ann=150, Bo=90)
    ready.back("Bo")
    assert "Turn now" not in ready.page("/back").words()


def test_the_next_look_at_the_gauges_counts_from_the_last_one(ready: Ready) -> None:
    ready.go_in()
    first = ready.page("/back").words()
    ready.world.clock.pass_minutes(4)
    assert ready.page("/back").words().count(_next_look(first)) == 1
    _read(ready, Ann=150)
    later = ready.page("/back").words()
    assert _minute(later) == _minute(first) + 4
    for name in ready.members:
        ready.back(name)
    assert "Next look" not in ready.page("/back").words()


def _next_look(words: str) -> str:
    place = words.index("Next look at the gauges: ")
    return words[place : place + len("Next look at the gauges: 00:00")]


def _minute(words: str) -> int:
    hours, minutes = _next_look(words)[-5:].split(":")
    return int(hours) * 60 + int(minutes)
