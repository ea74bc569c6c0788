"""Hours before flying: the longer of the 2002 workshop and the navy's table."""

import pytest

from app.planning.flying import BEFORE_ALTITUDE_MIN, before_flying, navy_interval_min
from app.planning.navy_table import GROUPS
from tests.planning.tables import rows


def test_every_cell_of_the_altitude_table() -> None:
    """US Navy Diving Manual rev 7, table 9-6, from memory; looked up exactly and a foot higher."""
    table = rows("usn_altitude")
    assert [row["group"] for row in table] == list(GROUPS) and len(BEFORE_ALTITUDE_MIN) == len(GROUPS)
    for row in table:
        for feet in range(1000, 11000, 1000):
            expected = int(row[str(feet)])
            assert navy_interval_min(row["group"], feet * 0.3048) == expected
            assert navy_interval_min(row["group"], (feet - 999) * 0.3048) == expected


def test_the_longer_source_counts() -> None:
    """To 8,000 ft group J asks for 14 h 13 min, N for 19 h 4 min; the workshop for 12 and 18 h."""
    eight_thousand_ft = 2438.4
    single = before_flying(1, "D", eight_thousand_ft)
    assert (single.hours, single.bound_by) == (12, "workshop_2002")
    assert before_flying(1, "J", eight_thousand_ft).hours == pytest.approx(14 + 13 / 60)
    assert before_flying(3, "J", eight_thousand_ft).hours == 18
    last = before_flying(3, "N", eight_thousand_ft)
    assert (last.bound_by, last.workshop_h) == ("navy_table", 18)
    assert last.hours == pytest.approx(19 + 4 / 60)
    stops = before_flying(1, None, eight_thousand_ft, with_stops=True)
    assert (stops.hours, stops.with_stops, stops.navy_h) == (18, True, None)


def test_no_climb_no_wait_and_no_answer_beyond_the_table() -> None:
    assert navy_interval_min("Z", 0) == 0
    for group, metres, words in (("Z", 3049, "ends at"), ("AB", 1000, "one of"), ("", 1000, "one of")):
        with pytest.raises(ValueError, match=words):
            navy_interval_min(group, metres)
    with pytest.raises(ValueError, match="at least one dive"):
        before_flying(0, "A", 1000)
