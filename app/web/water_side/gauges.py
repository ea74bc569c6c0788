"""Gauges while a group is under water: read by its guide, or told to whoever keeps the watch at the desk."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.water_side import pressures
from app.records.groups.groups import group_view
from app.web.front import Desk
from app.web.posted import PostedForm
from app.web.water_side.pages import HIGHEST_BAR, back_page

router = APIRouter()


@router.post("/water/{group_id}/on-the-way", name="read_on_the_way")
def read_on_the_way(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store pressures of divers under water, by whoever is signed in."""
    view = group_view(front.session, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
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
        pressures.read_pressures(act, group_id, "during", typed, posted.device_at)

    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}/back#gauges",
        again=lambda problem: back_page(front, group_id, problem),
    )
