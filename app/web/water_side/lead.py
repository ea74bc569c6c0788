"""Water side: the check of each guest's lead in shallow water, and other lead on the spot."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.kit_rail import lead
from app.planning.weight_checks import FLOATS, LEVEL, SINKS
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.water_side.pages import own, wrap_page
from app.web.water_side.ready import ready_page

router = APIRouter()
MOST_LEAD_KG = 25
SEEN = (FLOATS, LEVEL, SINKS)


@router.post("/water/{group_id}/float/{weights_id}", name="check_float")
def check_float(front: Desk, posted: PostedForm, group_id: int, weights_id: int) -> Response:
    """Store how a guest hangs in the water with this lead."""
    own(front, group_id)

    def check(act: Act) -> None:
        fields = posted.fields()
        seen = fields.choice("seen", "what you saw", SEEN)
        fields.done()
        lead.check_float(act, group_id, weights_id, posted.edits, seen)

    return front.do(
        posted,
        check,
        then=lambda _: _place(front, group_id),
        again=lambda problem: _page(front, group_id, problem),
    )


@router.post("/water/{group_id}/lead/{guest_id}", name="change_lead")
def change_lead(front: Desk, posted: PostedForm, group_id: int, guest_id: int) -> Response:
    """Store other lead given at the water."""
    own(front, group_id)

    def change(act: Act) -> None:
        fields = posted.fields()
        kg = fields.required_number("given_kg", "Lead given", 0, MOST_LEAD_KG, "kg")
        fields.done()
        lead.change_lead(act, group_id, guest_id, kg)

    return front.do(
        posted,
        change,
        then=lambda _: _place(front, group_id),
        again=lambda problem: _page(front, group_id, problem),
    )


def _place(front: Front, group_id: int) -> str:
    step = "/wrap" if own(front, group_id).group.entered_at is not None else ""
    return f"/water/{group_id}{step}#lead"


def _page(front: Front, group_id: int, problem: ProblemView) -> Response:
    entered = own(front, group_id).group.entered_at is not None
    return (wrap_page if entered else ready_page)(front, group_id, problem)
