"""Which cylinder to suggest to whom. A suggestion only: the gate still judges what is given in the end."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

GUIDE_LITRES = 12.0
"""Size a guide is offered first, in litres: the guide works hardest and shares gas (common practice)."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A cylinder that may be given. litres: water capacity; bar: gauge pressure now."""

    cylinder_id: int
    number: str
    litres: float
    bar: float


def suggest(divers: Sequence[tuple[int, str]], offers: Iterable[Offer]) -> dict[int, int]:
    """Suggest a cylinder to each diver, each cylinder once; returns diver -> cylinder, both by number.

    divers: (number, part) with part "guide", "assistant" or "guest". Guides and assistants choose first,
    12 L or the nearest to it; guests get the smallest, so that big cylinders stay for those who need them.
    Among equals the fuller one goes first. A diver for whom nothing is left is not in the answer.
    """
    left = list(offers)
    chosen: dict[int, int] = {}
    for diver, part in sorted(divers, key=lambda one: one[1] == "guest"):
        if not left:
            break
        best = min(left, key=_for_guest if part == "guest" else _for_staff)
        left.remove(best)
        chosen[diver] = best.cylinder_id
    return chosen


def _for_staff(offer: Offer) -> tuple[float, float, float, str]:
    return (abs(offer.litres - GUIDE_LITRES), -offer.litres, -offer.bar, offer.number)


def _for_guest(offer: Offer) -> tuple[float, float, str]:
    return (offer.litres, -offer.bar, offer.number)
