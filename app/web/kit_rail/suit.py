"""Kit rail: what a suit is, for the lead that it asks for."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.kit_rail import kit_suit
from app.web.front import Desk
from app.web.kit_rail.stock import THICKEST_MM, THINNEST_MM, item_page
from app.web.posted import PostedForm

router = APIRouter()
COVERS = ("full", "shorty", "two-piece")


@router.post("/kit/items/{item_id}/suit", name="describe_suit")
def describe_suit(front: Desk, posted: PostedForm, item_id: int) -> Response:
    """Store how much a suit covers, how thick it is, and its model."""

    def describe(act: Act) -> None:
        fields = posted.fields()
        cover = fields.choice("cover", "how much it covers", COVERS)
        thick = fields.required_number("thickness_mm", "Thickness", THINNEST_MM, THICKEST_MM, "mm")
        model = fields.text("model", "the model", most=40, needed=False)
        fields.done()
        kit_suit.describe_suit(act, item_id, posted.edits, cover, thick, model)

    return front.do(
        posted,
        describe,
        then=lambda _: f"/kit/items/{item_id}#suit",
        again=lambda problem: item_page(front, item_id, problem),
    )
