"""Can we take so many more? Answered on the spot; nothing is booked and nothing is kept by asking."""

from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.setup import shop as shop_records
from app.records.store.problems import NotHere
from app.records.today.capacity import capacity_facts
from app.records.welcome import bookings
from app.records.welcome.bookings import SlotView
from app.rules import limits as L
from app.rules.capacity import BODY_KINDS, Asked, may_take, sizes_left
from app.rules.kit import SIZES
from app.web.access import DESK, LEAD
from app.web.front import Desk, Front

router = APIRouter()
BODY_SIZES = tuple(dict.fromkeys(size for kind in BODY_KINDS for size in SIZES[kind]))
SHORTEST, MOST_DIGITS = 1, 9


@router.get("/can-we-take", name="can_we_take")
def can_we_take(front: Desk) -> Response:
    """Ask for more places in a slot: ``?slot=3&people=4&size_M=2``; without them the form alone."""
    day = front.day_asked()
    chosen = _slot_asked(front)
    if chosen is not None:
        day = chosen.slot.day
    slots = [one for one in bookings.slots_of(front.session, day) if one.slot.starts_at > front.now]
    people, sizes, wrong = _asked(front)
    answer = None
    if chosen is not None and people and not wrong:
        answer = _answer(front, chosen, Asked(people, sizes))
    return front.page(
        "groups/capacity.html",
        "Can we take more?",
        day=day,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        slots=slots,
        chosen=chosen or next(iter(slots), None),
        people=front.request.query_params.get("people", "")[:MOST_DIGITS],
        number=people,
        sizes=sizes,
        body_sizes=BODY_SIZES,
        wrong=wrong,
        answer=answer,
        may_book=front.visitor.has(DESK, LEAD),
    )


def _answer(front: Front, slot: SlotView, asked: Asked) -> dict[str, object]:
    facts = capacity_facts(front.session, front.house, slot, asked, front.now, front.clock)
    decision = may_take(
        asked,
        facts,
        front.now,
        shop_records.limits_now(front.session),
        front.shop.preset,
        shop_records.own_limits(front.session),
    )
    return {"decision": decision, "left": {kind: sizes_left(kind, facts.kit) for kind in BODY_KINDS}}


def _slot_asked(front: Front) -> SlotView | None:
    asked = front.request.query_params.get("slot", "")
    if not asked:
        return None
    if not asked.isdecimal() or len(asked) > MOST_DIGITS:
        raise NotHere("no such slot")
    return bookings.slot_view(front.session, int(asked))


def _asked(front: Front) -> tuple[int, dict[str, int], str]:
    """How many, their sizes as far as they are known, and what is wrong with the question ("" if nothing)."""
    asked = front.request.query_params
    if "people" not in asked:
        return 0, {}, ""
    most = int(shop_records.limits_now(front.session)[L.PARTY_SIZE_MAX].number or SHORTEST)
    people = _count(asked.get("people", ""), most)
    if not people:
        return 0, {}, f"Enter how many, from {SHORTEST} to {most}."
    sizes = {size: _count(asked.get(f"size_{size}", "") or "0", most) for size in BODY_SIZES}
    if None in sizes.values():
        return people, {}, "Enter each size as a number of people."
    known = {size: count for size, count in sizes.items() if count}
    if sum(known.values()) > people:
        return people, known, f"You gave {sum(known.values())} sizes for {people} people."
    return people, known, ""


def _count(said: str, most: int) -> int | None:
    """A whole number up to the most; None for anything else."""
    said = said.strip()
    if not said.isdecimal() or len(said) > MOST_DIGITS or int(said) > most:
        return None
    return int(said)
