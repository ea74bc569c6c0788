"""The navy's air table, cell by cell, and its rules for several dives in a day."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.planning import navy_table as table
from tests.planning.tables import rows

METRES = {fsw: fsw * 0.3063 for fsw in table.LIMITS}


def test_every_cell_of_the_no_stop_table() -> None:
    """US Navy Diving Manual rev 7 (2016), table 9-7, from memory: look-ups are exact."""
    for row in rows("usn_no_stop"):
        fsw = int(row["depth_fsw"])
        depth, limit = METRES[fsw], row["no_stop_min"]
        assert table.no_stop_limit(depth) == (None if limit == "unlimited" else int(limit))
        times = [(group, int(row[group])) for group in table.GROUPS if row[group]]
        for (group, longest), (after, _) in zip(times, [*times[1:], (None, 0)], strict=True):
            assert table.group_after(depth, longest) == group
            if after is not None:
                assert table.group_after(depth, longest + 0.1) == after
        if limit != "unlimited":
            assert table.group_after(depth, int(limit) + 0.1) is None
        else:
            highest = table.GROUPS[len(times)]
            assert table.group_after(depth, 5000) == highest


def test_every_residual_time() -> None:
    """US Navy Diving Manual rev 7 (2016), table 9-8, lower part, from memory."""
    for row in rows("usn_rnt"):
        fsw = int(row["depth_fsw"])
        for group in table.GROUPS:
            found = table.residual_min(group, METRES[fsw])
            if row[group]:
                assert found == int(row[group])
            elif fsw == 25:
                assert found == table.residual_min(group, METRES[30])
            else:
                assert found is None


def test_every_surface_interval() -> None:
    """US Navy Diving Manual rev 7 (2016), table 9-8, upper part, from memory."""
    last: dict[str, int] = {}
    for row in rows("usn_surface_interval"):
        start, after = row["start_group"], row["end_group"]
        for minutes in (int(row["from_min"]), int(row["to_min"])):
            assert table.group_after_interval(start, minutes) == after
        last[start] = max(last.get(start, 0), int(row["to_min"]))
    assert list(last) == list(table.GROUPS)
    for start, minutes in last.items():
        assert table.group_after_interval(start, minutes + 1) is None
        with pytest.raises(ValueError, match="count as one"):
            table.group_after_interval(start, 9)


def test_a_guides_day() -> None:
    """Five dives to 12 m, 40 min each, an hour between: the fifth may last 27 min."""
    groups, left = [], []
    dives: tuple[tuple[float, float, float], ...] = ()
    for _ in range(5):
        left.append(table.bottom_time_left(dives, 12, 60))
        dives = (*dives, (12, 40, 60))
    groups = [dive.group for dive in table.day(dives)]
    assert groups[:4] == ["E", "I", "L", "N"]
    assert left == [163, 126, 89, 54, 27]


def test_dives_without_an_interval_are_one_dive_at_the_deepest() -> None:
    """Three dips, the first the deepest: all their minutes count at its depth."""
    dips = ((12.0, 30.0, 0.0), (5.0, 20.0, 5.0), (5.0, 20.0, 9.0))
    whole = table.day(dips)[-1]
    assert (whole.depth_fsw, whole.bottom_min, whole.group) == (40, 70, table.group_after(12, 70))
    assert table.bottom_time_left(dips, 5, 9) == 163 - 70
    assert table.bottom_time_left(dips, 5, 10) is None


def test_a_shallow_dive_after_deep_ones_keeps_the_group() -> None:
    """20 fsw has no residual time for group M: unlimited, and the group is not talked down."""
    deep = (12.0, 130.0, 0.0)
    assert table.day((deep,))[0].group == "M"
    then = table.day((deep, (6.0, 30.0, 15.0)))[-1]
    assert (then.group, then.over_limit) == ("M", False)
    assert table.bottom_time_left((deep,), 6, 15) is None


def test_beyond_the_limit_nothing_is_left() -> None:
    over = ((12.0, 164.0, 0.0),)
    assert table.day(over)[0].over_limit and table.day((*over, (5.0, 5.0, 60.0)))[-1].group is None
    assert table.bottom_time_left(over, 5, 60) == 0
    with pytest.raises(ValueError, match="ends at 60 fsw"):
        table.depth_row(18.5)


def test_the_table_asks_for_the_next_deeper_and_longer() -> None:
    assert table.depth_row(12.0) == 40 and table.depth_row(12.3) == 45
    with pytest.raises(ValueError, match="table ends"):
        table.depth_row(30)
    assert table.day(((12, 80, 0), (12, 83, 5)))[1].bottom_min == 163
    assert table.day(((12, 80, 0), (12, 84, 5)))[1].over_limit


@given(
    st.lists(st.tuples(st.floats(3, 12), st.floats(5, 60), st.floats(0, 240)), max_size=4),
    st.floats(8, 18),
    st.floats(0, 400),
    st.floats(0, 200),
)
def test_more_interval_or_less_depth_never_takes_time_away(
    dives: list[tuple[float, float, float]], depth: float, interval: float, longer: float
) -> None:
    """From 10 min on; under it the earlier dive counts whole."""
    day, interval = tuple(dives), interval + 10
    left = table.bottom_time_left(day, depth, interval)
    rested = table.bottom_time_left(day, depth, interval + longer)
    higher = table.bottom_time_left(day, depth - 1, interval)
    assert left is not None
    assert rested is not None and rested >= left
    assert higher is None or higher >= left
