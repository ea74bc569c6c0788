"""A walk along the rail: what each item counts as, from what the records and the walkers say.

Nothing is changed by looking: a difference is settled by a person, and the newest word on an item counts.
"""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

HERE, NOT_HERE = "here", "not here"
FOUND, LOST, STILL_OUT, IS_BACK = "found", "lost", "still out", "is back"
WALKED = (HERE, NOT_HERE)
SETTLED = (FOUND, LOST, STILL_OUT, IS_BACK)


class Standing(StrEnum):
    """What one item counts as in a stocktake."""

    SEEN = "here"
    OUT = "with a guest"
    MISSING = "missing"
    UNEXPECTED = "here, though it is out"
    ASIDE_SEEN = "set aside, here"
    ASIDE = "set aside, not seen"
    LOST = "lost"
    ELSEWHERE = "still out"


DIFFERENCES = (Standing.MISSING, Standing.UNEXPECTED)
"""What a person has to settle before a stocktake is closed."""

WAYS = {Standing.MISSING: (FOUND, LOST, STILL_OUT), Standing.UNEXPECTED: (IS_BACK, STILL_OUT)}
"""How each difference may be settled."""


@dataclass(frozen=True, slots=True)
class Looked:
    """What is known of one item. out_at: since when it is with a guest, None on the rail.

    mark, marked_at: the newest word of this stocktake, "" and None while nobody looked.
    """

    out_at: datetime | None
    aside: bool
    mark: str = ""
    marked_at: datetime | None = None


def standing(item: Looked) -> Standing:
    """Return what an item counts as. What was seen and given out afterwards is simply with a guest."""
    given_since = item.out_at is not None and item.marked_at is not None and item.out_at > item.marked_at
    if given_since:
        return Standing.OUT
    if item.mark == LOST:
        return Standing.LOST
    if item.mark == STILL_OUT:
        return Standing.OUT if item.out_at is not None else Standing.ELSEWHERE
    seen = item.mark in (HERE, FOUND, IS_BACK)
    if item.out_at is not None:
        return Standing.UNEXPECTED if seen else Standing.OUT
    if item.aside:
        return Standing.ASIDE_SEEN if seen else Standing.ASIDE
    return Standing.SEEN if seen else Standing.MISSING
