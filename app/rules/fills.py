"""What follows from the air of a fill that was made.

The fill is judged after the fact. Bad air is written down as measured and sets the cylinder aside:
refusing the record would leave bad air in a cylinder that the board calls full. What was not measured is
said, and does not undo a fill.
"""

from dataclasses import dataclass
from datetime import date

from app.rules import limits as L
from app.rules.cylinders import AirFacts, air_is_good
from app.rules.decision import Reason
from app.rules.resolve import Limits

_OXYGEN = frozenset({L.AIR_OXYGEN_MIN.key, L.AIR_OXYGEN_MAX.key})


@dataclass(frozen=True, slots=True)
class AirVerdict:
    """bad: why the cylinders of the batch are set aside. notes: what to see to before the next batch."""

    bad: tuple[Reason, ...]
    notes: tuple[Reason, ...]


def judge_air(air: AirFacts, limits: Limits, day: date) -> AirVerdict:
    """Judge the air of a batch by what was measured of it and by the compressor's last air test."""
    asked = air_is_good(air, limits, day)
    bad: list[Reason] = []
    notes = list(asked.notes)
    for reason in asked.reasons:
        measured = {L.AIR_CO_MAX.key: air.co_ppm, **dict.fromkeys(_OXYGEN, air.oxygen_percent)}.get(
            reason.rule
        )
        (notes if measured is None else bad).append(reason)
    return AirVerdict(tuple(bad), tuple(notes))
