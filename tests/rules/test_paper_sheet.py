"""A sheet of paper held against itself: what cannot be so is said beside its box."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from app.rules.paper_sheet import PaperCount, PaperLine, count_problems, line_problems

NOON = datetime(2026, 7, 15, 12, 0, tzinfo=UTC)
WENT, BACK = NOON - timedelta(hours=3), NOON - timedelta(hours=2)


def line(**other: Any) -> PaperLine:
    """Return Ann's line: in and back, 200 down to 80 bar."""
    said: dict[str, Any] = {"stays": False, "went": WENT, "back": BACK, "start": 200, "turn": 120, "end": 80}
    return PaperLine(7, "Ann", **{**said, **other})


def test_a_sound_line_has_no_problem() -> None:
    assert line_problems([line(), line(back=None, turn=None, end=None)], NOON) == {}
    assert line_problems([line(went=None, in_since=WENT, start=None, start_known=200)], NOON) == {}
    assert line_problems([line(stays=True, went=None, back=None, turn=None, end=None)], NOON) == {}


@pytest.mark.parametrize(
    ("other", "field"),
    [
        ({"went": None}, "went_7"),
        ({"went": NOON + timedelta(minutes=1), "back": None}, "went_7"),
        ({"back": NOON + timedelta(minutes=1)}, "back_7"),
        ({"back": WENT}, "back_7"),
        ({"went": None, "in_since": BACK, "back": WENT}, "back_7"),
        ({"turn": 201}, "turn_7"),
        ({"end": 121}, "end_7"),
        ({"turn": None, "end": 201}, "end_7"),
        ({"start": None, "start_known": 110}, "turn_7"),
        ({"cylinder": False}, "cylinder_7"),
        ({"stays": True, "went": None, "back": None}, "turn_7"),
        ({"stays": True, "turn": None, "end": None}, "went_7"),
    ],
)
def test_what_cannot_be_so_is_said_beside_its_box(other: dict[str, Any], field: str) -> None:
    found = line_problems([line(**other)], NOON)
    assert field in found and "Ann" in found[field]


def test_a_count_unlike_the_names_needs_what_happened() -> None:
    counts = [PaperCount("heads_first", 4, 5), PaperCount("heads_second", 5, 5)]
    assert set(count_problems(counts, explained=False)) == {"heads_first"}
    assert count_problems(counts, explained=True) == {}
