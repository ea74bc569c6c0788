"""Water side, before the water: the instructor's groups, getting ready, going in."""

from collections.abc import Callable
from datetime import datetime, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.water_side import going_in, pressures
from app.records.groups.groups import groups_of
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.own_groups import may_run
from app.web.pages import ProblemView, instant_of
from app.web.posted import PostedForm
from app.web.water_side.pages import (
    HIGHEST_BAR,
    back_page,
    out_page,
    own,
    wrap_page,
)
from app.web.water_side.ready import ready_page

router = APIRouter()
# A time in is told soon after, or just before.
LATEST_TOLD, EARLIEST_TOLD = timedelta(hours=2), timedelta(minutes=10)


@router.get("/water", name="water_groups")
def water_groups(front: Desk) -> Response:
    """Show today's groups of this instructor; the lead sees all."""
    mine = [view for view in groups_of(front.session, front.today) if may_run(front, view)]
    return front.page("water_side/groups.html", "Water side", views=mine)


@router.post("/water/{group_id}/pressures", name="read_pressures")
def read_pressures(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store start pressures, pressures on the way, or end pressures."""
    view = own(front, group_id)
    places: dict[str, tuple[str, Callable[[Front, int, ProblemView | None], Response]]] = {
        "start": ("", ready_page),
        "during": ("/back", back_page),
        "end": ("/wrap", wrap_page),
    }
    place, page = places.get(posted.values.get("moment", ""), places["start"])

    def store(act: Act) -> None:
        fields = posted.fields()
        moment = fields.choice("moment", "start, on the way or end", pressures.MOMENTS)
        read = {
            one.row.id or 0: fields.reading(
                f"bar_{one.row.id}", f"{one.name}'s pressure", 0, HIGHEST_BAR, "bar", needed=False
            )
            for one in view.members
        }
        typed = {number: one for number, one in read.items() if one is not None}
        if not typed and not fields.errors:
            fields.wrong("form", "No pressure was typed. Type what the gauges show.")
        fields.done()
        pressures.read_pressures(act, group_id, moment, typed, posted.device_at)

    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}{place}#pressures",
        again=lambda problem: page(front, group_id, problem),
    )


@router.get("/water/{group_id}/out", name="going_out")
def going_out(front: Desk, group_id: int) -> Response:
    """Show the roll call out."""
    return out_page(front, group_id)


@router.post("/water/{group_id}/out", name="go_in")
def go_in(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Send the group in, if every gate allows it."""
    view = own(front, group_id)

    def enter(act: Act) -> None:
        fields = posted.fields()
        choices = {
            one.row.id or 0: fields.choice(
                f"member_{one.row.id}", f"in or stays ashore for {one.name}", ("in", "stays")
            )
            for one in view.members
        }
        heads = fields.whole("heads", "The head count", 0, 99) or 0
        at = _time_told(front, fields)
        fields.done()
        going_in.go_in(act, group_id, choices, heads, at, posted.device_at)

    return front.do(
        posted,
        enter,
        then=lambda _: f"/water/{group_id}/back",
        again=lambda problem: out_page(front, group_id, problem),
    )


def _time_told(front: Front, fields: Fields) -> datetime:
    """Return the time in: the typed clock time of today, or now when the box is left empty."""
    said = fields.clock("time", "the time in", needed=False)
    if not said:
        return front.now
    told = instant_of(front.today, said, front.shop.zone)
    if not front.now - LATEST_TOLD <= told <= front.now + EARLIEST_TOLD:
        fields.wrong("time", "The time in must be within the last two hours. Leave it empty for now.")
    return told
