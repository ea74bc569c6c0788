"""Which piece for which guest: the rail shared out among the slots of a day, each piece once at a time.

Earlier slots choose first. A piece that is out counts again once it will be back and clean.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece that may be offered. ready: it may be given out this minute.

    free_from: from when it is on the rail and clean, as far as anybody can tell now.
    """

    item_id: int
    kind: str
    size: str
    free_from: datetime
    ready: bool


@dataclass(frozen=True, slots=True)
class Want:
    """A guest still needs one piece of a kind. sizes: worth trying, best first.

    at: when the dive's slot begins. until: when the piece will be back and clean.
    """

    guest_id: int
    kind: str
    sizes: tuple[str, ...]
    at: datetime
    until: datetime


@dataclass(frozen=True, slots=True)
class Offer:
    """A piece for a guest. ready: it may be given out now; otherwise it will be free from `free_from`."""

    guest_id: int
    kind: str
    item_id: int
    free_from: datetime
    ready: bool


@dataclass(frozen=True, slots=True)
class Short:
    """Nothing for a guest. item_id: the piece that would have fitted and comes too late, if there is one.

    meant_for: the guest of an overlapping slot to whom that piece is offered; None when it is only out.
    """

    guest_id: int
    kind: str
    size: str
    item_id: int | None = None
    free_from: datetime | None = None
    meant_for: int | None = None


def share_out(wants: Iterable[Want], pieces: Iterable[Piece]) -> tuple[list[Offer], list[Short]]:
    """Offer each want a piece that is free when its slot begins, the earliest slot first."""
    hanging: dict[tuple[str, str], list[Piece]] = {}
    for piece in pieces:
        hanging.setdefault((piece.kind, piece.size), []).append(piece)
    taken: dict[int, tuple[datetime, int]] = {}
    offers, shorts = [], []
    for want in sorted(wants, key=lambda one: one.at):
        fitting = [piece for size in want.sizes for piece in hanging.get((want.kind, size), [])]
        free = [piece for piece in fitting if _free_from(piece, taken) <= want.at]
        if not free:
            shorts.append(_short(want, fitting, taken))
            continue
        size = free[0].size
        # Of the best size: what hangs there now before what must come back first.
        chosen = min(
            (piece for piece in free if piece.size == size),
            key=lambda piece: (not piece.ready or piece.item_id in taken, _free_from(piece, taken)),
        )
        ready = chosen.ready and chosen.item_id not in taken
        offers.append(Offer(want.guest_id, want.kind, chosen.item_id, _free_from(chosen, taken), ready))
        taken[chosen.item_id] = (want.until, want.guest_id)
    return offers, shorts


def _free_from(piece: Piece, taken: dict[int, tuple[datetime, int]]) -> datetime:
    return taken[piece.item_id][0] if piece.item_id in taken else piece.free_from


def _short(want: Want, fitting: list[Piece], taken: dict[int, tuple[datetime, int]]) -> Short:
    size = want.sizes[0] if want.sizes else ""
    if not fitting:
        return Short(want.guest_id, want.kind, size)
    next_free = min(fitting, key=lambda piece: _free_from(piece, taken))
    meant_for = taken[next_free.item_id][1] if next_free.item_id in taken else None
    return Short(want.guest_id, want.kind, size, next_free.item_id, _free_from(next_free, taken), meant_for)
