"""Kit rail: one number after the other, typed or read by a hand scanner, out to a guest or back."""

from urllib.parse import unquote

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.kit_rail import kit_party as acts
from app.records.tables.kit import KitLoanRow
from app.web.fields import Fields
from app.web.front import NUMBER_MOST, Desk
from app.web.kit_rail.pages import rail_page, slot_asked
from app.web.posted import PostedForm

router = APIRouter()
# A label holds the number's whole address: http://shop/k/J07.
LABEL_PATH = "/k/"
MOST_SCANNED = 200


def number_read(fields: Fields, name: str = "number") -> str:
    """Return the number on an item out of what was typed or scanned: the number itself, or its address."""
    said = fields.text(name, "the number on the item", most=MOST_SCANNED)
    if LABEL_PATH not in said:
        return said
    return unquote(said.rpartition(LABEL_PATH)[2].partition("?")[0].partition("#")[0].strip("/ "))


@router.post("/kit/scan", name="scan_kit")
def scan_kit(front: Desk, posted: PostedForm) -> Response:
    """Give the item with this number to the chosen guest, or take it back."""
    slot = slot_asked(front)

    def scan(act: Act) -> KitLoanRow:
        fields = posted.fields()
        number = number_read(fields)
        to = fields.text("to", "who it goes to, or that it comes back", most=NUMBER_MOST)
        if to and to != "back" and not to.isdecimal():
            fields.wrong("to", "Choose who it goes to, or that it comes back.")
        fields.done()
        return acts.scan(act, number, None if to == "back" else int(to))

    def then(_loan: KitLoanRow) -> str:
        at = "" if slot is None else f"slot={slot.slot.id}&"
        return f"/kit?{at}to={posted.values.get('to', '')}"

    return front.do(posted, scan, then=then, again=lambda problem: rail_page(front, slot, problem))
