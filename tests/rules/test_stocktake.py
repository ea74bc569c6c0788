"""A stocktake: what an item counts as, from where it should be and what the walkers said."""

from datetime import UTC, datetime, timedelta

import pytest

from app.rules.stocktake import DIFFERENCES, WAYS, Looked, Standing, standing

T = datetime(2026, 7, 15, 18, 0, tzinfo=UTC)
BEFORE, AFTER = T - timedelta(hours=1), T + timedelta(hours=1)


@pytest.mark.parametrize(
    ("out_at", "aside", "mark", "counts"),
    [
        (None, False, "", Standing.MISSING),
        (None, False, "not here", Standing.MISSING),
        (None, False, "here", Standing.SEEN),
        (None, False, "found", Standing.SEEN),
        (None, False, "is back", Standing.SEEN),
        (None, False, "still out", Standing.ELSEWHERE),
        (None, True, "", Standing.ASIDE),
        (None, True, "here", Standing.ASIDE_SEEN),
        (None, True, "lost", Standing.LOST),
        (BEFORE, False, "", Standing.OUT),
        (BEFORE, False, "not here", Standing.OUT),
        (BEFORE, False, "here", Standing.UNEXPECTED),
        (BEFORE, False, "still out", Standing.OUT),
        (BEFORE, True, "here", Standing.UNEXPECTED),
        (AFTER, False, "here", Standing.OUT),
        (AFTER, False, "is back", Standing.OUT),
    ],
)
def test_what_an_item_counts_as(out_at: datetime | None, aside: bool, mark: str, counts: Standing) -> None:
    assert standing(Looked(out_at, aside, mark, T if mark else None)) == counts


def test_every_difference_can_be_settled_and_nothing_else() -> None:
    assert set(WAYS) == set(DIFFERENCES) == {Standing.MISSING, Standing.UNEXPECTED}
    settled = {
        (one, how): standing(
            Looked(BEFORE if one is Standing.UNEXPECTED and how != "is back" else None, how == "lost", how, T)
        )
        for one, ways in WAYS.items()
        for how in ways
    }
    assert not set(settled.values()) & set(DIFFERENCES)
