"""A gauge that does not read what the fill record says: the question, and what was found."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.gas_room import gauge_doubts as act_on
from app.records.gas_room.gauge_doubts import doubt
from app.web.front import Desk, Front
from app.web.gas_room.board import when
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()


@router.get("/gas/doubts/{doubt_id}", name="gauge_doubt")
def gauge_doubt(front: Desk, doubt_id: int) -> Response:
    """Show one question about a gauge."""
    return _page(front, doubt_id)


@router.post("/gas/doubts/{doubt_id}", name="look_at_gauge")
def look_at_gauge(front: Desk, posted: PostedForm, doubt_id: int) -> Response:
    """Store what was found."""
    doubt(front.session, doubt_id)

    def look(act: Act) -> None:
        fields = posted.fields()
        found = fields.note("found", "what you found", needed=True)
        fields.done()
        act_on.look_at_gauge(act, doubt_id, found)

    return front.do(
        posted,
        look,
        then=lambda _: f"/gas/doubts/{doubt_id}",
        again=lambda problem: _page(front, doubt_id, problem),
    )


def _page(front: Front, doubt_id: int, problem: ProblemView | None = None) -> Response:
    one = doubt(front.session, doubt_id)
    return front.page(
        "gas_room/doubt.html",
        f"Check the gauge of cylinder {one.number}",
        problem=problem,
        one=one,
        when=when(front),
    )
