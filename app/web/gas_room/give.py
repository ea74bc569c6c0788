"""Gas room: giving cylinders to the people of a slot and taking them back."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.gas_room import cylinders as act_on
from app.records.gas_room import cylinders, cylinders_out
from app.records.gas_room.cylinders import CylinderView
from app.records.store.problems import NotHere
from app.records.welcome import bookings
from app.records.welcome.bookings import SlotView
from app.rules.cylinder_choice import Offer, suggest
from app.rules.cylinders import may_give
from app.web.front import Desk, Front
from app.web.gas_room.board import HIGHEST_BAR, cylinder_page
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
PARTS = {"guide": "Guide", "assistant": "Assistant", "guest": "Guest"}


@router.get("/gas/give", name="give_page")
def give_page(front: Desk) -> Response:
    """Show who of a slot still needs a cylinder, and who has one."""
    return _give_page(front)


@router.post("/gas/give/{member_id}", name="give_cylinder")
def give_cylinder(front: Desk, posted: PostedForm, member_id: int) -> Response:
    """Give one cylinder to one person."""
    _, _, slot = cylinders_out.member_place(front.session, member_id)

    def give(act: Act) -> None:
        fields = posted.fields()
        chosen = fields.whole("cylinder_id", "Cylinder", 1, 10**6)
        fields.done()
        act_on.give_cylinder(act, chosen or 0, member_id)

    return front.do(
        posted,
        give,
        then=lambda _: f"/gas/give?slot={slot.slot.id}",
        again=lambda problem: _give_page(front, problem, slot=slot, member_id=member_id),
    )


@router.post("/gas/take-back/{out_id}", name="take_back_cylinder")
def take_back_cylinder(front: Desk, posted: PostedForm, out_id: int) -> Response:
    """Take one cylinder back, with its end pressure unless the guide read it at the water."""
    out, ended_bar = cylinders_out.out_with_end(front.session, out_id)
    _, _, slot = cylinders_out.member_place(front.session, out.member_id)
    from_slot = "slot" in front.request.query_params

    def take(act: Act) -> None:
        fields = posted.fields()
        bar = fields.reading("bar", "End pressure", 0, HIGHEST_BAR, "bar", needed=ended_bar is None)
        fields.done()
        act_on.take_back_cylinder(act, out_id, bar, posted.edits)

    def again(problem: ProblemView) -> Response:
        if from_slot:
            return _give_page(front, problem, slot=slot, out_id=out_id)
        return cylinder_page(front, out.cylinder_id, problem)

    path = f"/gas/give?slot={slot.slot.id}" if from_slot else f"/gas/cylinders/{out.cylinder_id}"
    return front.do(posted, take, then=lambda _: path, again=again)


def _give_page(
    front: Front,
    problem: ProblemView | None = None,
    *,
    slot: SlotView | None = None,
    member_id: int = 0,
    out_id: int = 0,
) -> Response:
    """The page of a slot; member_id or out_id say whose form the problem belongs to."""
    slots = bookings.slots_of(front.session, front.today)
    slot = slot or _slot_asked(front, slots)
    divers = [] if slot is None else cylinders_out.divers_of_slot(front.session, slot.slot.id or 0)
    waiting = [
        diver
        for diver in divers
        if diver.out is None and diver.group.closed_at is None and diver.group.aborted_at is None
    ]
    offers = _offers(front, slot) if slot is not None and waiting else []
    suggestion = suggest(
        [(diver.member.id or 0, diver.member.part) for diver in waiting],
        [
            Offer(view.row.id or 0, view.row.number, view.row.litres, view.gauge.bar)
            for view in offers
            if view.gauge is not None
        ],
    )
    return front.page(
        "gas_room/give.html",
        "Give out and take back",
        problem=problem,
        slots=slots,
        slot=slot,
        divers=divers,
        waiting=waiting,
        holding=[diver for diver in divers if diver.out is not None],
        offers=offers,
        suggestion=suggestion,
        short=len(waiting) - len(suggestion),
        minimum=None if slot is None else cylinders_out.start_minimum(front.session, slot.site),
        parts=PARTS,
        open_member=member_id,
        open_out=out_id,
    )


def _slot_asked(front: Front, slots: list[SlotView]) -> SlotView | None:
    """The slot of ``?slot=``, on whatever day; without one the next slot that is not over, else the last."""
    asked = front.request.query_params.get("slot", "")
    if asked:
        if not asked.isdecimal() or len(asked) > 9:  # noqa: PLR2004 - digits of a row number
            raise NotHere("no such slot")
        return bookings.slot_view(front.session, int(asked))
    ahead = [need.slot for need in cylinders_out.needs_of(front.session, front.today, front.now)]
    return next(iter(ahead or slots[-1:]), None)


def _offers(front: Front, slot: SlotView) -> list[CylinderView]:
    limits = cylinders_out.limits_at(front.session, slot.site)
    start, end = cylinders_out.times_of(slot, limits)
    return [
        view
        for view in cylinders.cylinder_board(front.session, slot.slot.day)
        if may_give(view.facts, limits, slot.slot.day, start, end, cylinders_out.where_of(slot.site)).allowed
    ]
