"""Water side, after the water: what the dive was like, closing it, cylinders back in the gas room."""

from collections.abc import Callable
from typing import Literal

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.gas_room.cylinders import take_back_cylinder
from app.actions.water_side import coming_out, dive_end, pressures
from app.records.groups.groups import GroupView, group_view
from app.records.water_side.entry import divers_of
from app.rules.dive_record import COMPUTERS
from app.web.front import Desk, Front
from app.web.pages import instant_of
from app.web.posted import Posted, PostedForm
from app.web.water_side.pages import HIGHEST_BAR, belongs, own, plan_of_dive, stop_of, wrap_page

router = APIRouter()
# Deeper than any try dive; the limits in force make the incident.
DEEPEST_M = 60.0


@router.get("/water/{group_id}/wrap", name="wrap_up")
def wrap_up(front: Desk, group_id: int) -> Response:
    """Show what is left to write down."""
    return wrap_page(front, group_id)


@router.post("/water/{group_id}/dive", name="write_dive")
def write_dive(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store what the dive was like."""
    view = own(front, group_id)
    closed = view.group.closed_at is not None

    def write(act: Act) -> None:
        asks_stop = stop_of(plan_of_dive(front, view)) is not None
        fields = posted.fields()
        depth = fields.required_number("depth", "The greatest depth", 0, DEEPEST_M, "m")
        ascent = fields.choice("ascent", "how fast the way up was", ("slower", "faster"))
        stop = fields.choice("stop", "whether the stop was done", ("yes", "no"), needed=asks_stop)
        anything = fields.choice("anything", "whether anything happened", ("nothing", "something"))
        happened = fields.note("happened", "what happened", needed=anything == "something")
        why = fields.text("why", "why it is put right", needed=closed)
        computers = fields.choice("computers", "who had a dive computer", COMPUTERS, needed=False)
        lost = fields.several("separated", "who lost sight of the group", _numbers(view))
        fields.done()
        dive_end.write_dive(
            act,
            group_id,
            posted.edits,
            depth,
            ascent,
            stop == "yes" if stop else None,
            happened if anything == "something" else "nothing",
            why,
            [int(number) for number in lost],
            computers,
        )

    return _wrap(front, posted, group_id, write, "#close")


@router.post("/water/{group_id}/pressures/{member_id}/{moment}", name="put_pressure_right")
def put_pressure_right(
    front: Desk, posted: PostedForm, group_id: int, member_id: int, moment: Literal["start", "during", "end"]
) -> Response:
    """Store one person's pressure at the start, on the way or at the end once more."""
    own(front, group_id)
    belongs(front, group_id, member_id)

    def put_right(act: Act) -> None:
        fields = posted.fields()
        read = fields.required_reading("bar", "The pressure", 0, HIGHEST_BAR, "bar")
        why = fields.text("why", "why it is put right")
        fields.done()
        pressures.put_pressure_right(act, group_id, member_id, moment, read, why)

    return _wrap(front, posted, group_id, put_right, "#pressures")


@router.post("/water/{group_id}/times/{member_id}", name="put_times_right")
def put_times_right(front: Desk, posted: PostedForm, group_id: int, member_id: int) -> Response:
    """Store one person's times in and out once more."""
    view = own(front, group_id)
    belongs(front, group_id, member_id)

    def put_right(act: Act) -> None:
        fields = posted.fields()
        went, back = fields.clock("went", "the time in"), fields.clock("back", "the time out")
        why = fields.text("why", "why they are put right")
        fields.done()
        day, zone = view.slot.day, front.shop.zone
        coming_out.put_times_right(
            act, member_id, instant_of(day, went, zone), instant_of(day, back, zone), why
        )

    return _wrap(front, posted, group_id, put_right, "#times")


@router.post("/water/{group_id}/close", name="close_dive")
def close_dive(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Close the dive when everything is answered."""
    own(front, group_id)

    def close(act: Act) -> None:
        posted.fields().done()
        dive_end.close_dive(act, group_id)

    return _wrap(front, posted, group_id, close, "")


@router.post("/water/{group_id}/cylinders-back", name="cylinders_back")
def cylinders_back(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Take the whole group's cylinders back into the gas room."""
    own(front, group_id)

    def take(act: Act) -> None:
        posted.fields().done()
        for one in divers_of(act.session, group_view(act.session, group_id).members):
            if one.out is not None and one.out.back_at is None:
                take_back_cylinder(act, one.out.id or 0)
        act.about = ("dive_group", str(group_id))

    return _wrap(front, posted, group_id, take, "")


def _numbers(view: GroupView) -> list[str]:
    return [str(one.row.id) for one in view.members]


def _wrap(front: Front, posted: Posted, group_id: int, act: Callable[[Act], None], place: str) -> Response:
    return front.do(
        posted,
        act,
        then=lambda _: f"/water/{group_id}/wrap{place}",
        again=lambda problem: wrap_page(front, group_id, problem),
    )
