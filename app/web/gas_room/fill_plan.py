"""Gas room: the fill plan, worked out anew each time it is opened."""

from datetime import timedelta
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.gas_room import fill_plan
from app.records.gas_room.fill_plan import DayPlan, SlotPlan
from app.records.setup.shop import limits_now
from app.rules import limits as L
from app.web.front import Desk
from app.web.gas_room.board import may_fill, say_slot, when

router = APIRouter()


@router.get("/gas/fill-plan", name="fill_plan")
def fill_plan_page(front: Desk) -> Response:
    """Show what to fill for the rest of today, or for the day of ``?day=``."""
    asked = "day" in front.request.query_params
    if asked:
        plan = fill_plan.day_plan(front.session, front.day_asked(), front.now)
    else:
        plan = fill_plan.next_plan(front.session, front.today, front.now)
    in_force = limits_now(front.session)
    return front.page(
        "gas_room/fill_plan.html",
        "Fill plan",
        plan=plan,
        tomorrow=front.today + timedelta(days=1),
        say_slot=lambda one: say_slot(front, one),
        fill_link=lambda one: fill_link(plan, one),
        too_late=plan.latest_start is not None and plan.latest_start < front.now,
        cooling=in_force[L.FILL_COOLING_MINUTES],
        handling=in_force[L.FILL_HANDLING_MINUTES],
        gas_temp=in_force[L.FILL_GAS_TEMP],
        filter_limit=in_force[L.COMPRESSOR_FILTER_HOURS],
        may_fill=may_fill(front),
        when=when(front),
    )


def fill_link(plan: DayPlan, slot: SlotPlan) -> str:
    """Return where the batch form opens with the cylinders of a slot ticked and its figures offered.

    Those of the lowest pressure to fill to count for all; a cylinder that is out cannot be ticked.
    """
    here = slot.here
    pairs = [("pick", str(one.view.row.id)) for one in here]
    pairs += [("end", f"{min(one.step.to_bar for one in here):g}"), ("gas", f"{plan.way.gas_c:g}")]
    return f"/gas/fill?{urlencode(pairs)}"
