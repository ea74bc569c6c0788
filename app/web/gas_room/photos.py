"""Gas room: pictures of a cylinder."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.gas_room.cylinder_stock import picture_cylinder
from app.web.front import Desk
from app.web.gas_room.board import cylinder_page
from app.web.posted import PostedForm

router = APIRouter()


@router.post("/gas/cylinders/{cylinder_id}/pictures", name="add_cylinder_picture")
def add_cylinder_picture(front: Desk, posted: PostedForm, cylinder_id: int) -> Response:
    """Keep a picture of a cylinder."""

    def keep(act: Act) -> None:
        posted.fields().done()
        picture_cylinder(act, cylinder_id, posted.file("photo"))

    return front.do(
        posted,
        keep,
        then=lambda _: f"/gas/cylinders/{cylinder_id}#pictures",
        again=lambda problem: cylinder_page(front, cylinder_id, problem),
    )
