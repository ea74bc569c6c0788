"""Slots of a day: adding, closing, and the usual ones again for another day."""

from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions import slots as slot_actions
from app.actions.act import Act
from app.records import bookings
from app.records import shop as shop_records
from app.records.problems import NotHere
from app.records.tables.parties import SlotRow
from app.web.front import Desk
from app.web.groups import groups_page
from app.web.posted import PostedForm

router = APIRouter()
MOST_PLACES = 200
OPEN, CLOSED = "open", "closed"


@router.post("/groups/days/{day}/slots", name="add_slot")
def add_slot(front: Desk, posted: PostedForm, day: str) -> Response:
    """Add a slot on a day."""
    on = _day(day)

    def add(act: Act) -> SlotRow:
        fields = posted.fields()
        sites = [str(site.id) for site in shop_records.sites(front.session)]
        clock = fields.clock("clock", "the start")
        site = fields.choice("site", "a site", sites)
        places = fields.whole("places", "Places", 1, MOST_PLACES)
        fields.done()
        return slot_actions.add_slot(act, on, clock, int(site), places or 0)

    return front.do(
        posted,
        add,
        then=lambda row: f"/groups?day={on.isoformat()}#slot-{row.id}",
        again=lambda problem: groups_page(front, on, problem, "add-slot"),
    )


@router.post("/groups/slots/{slot_id}", name="change_slot")
def change_slot(front: Desk, posted: PostedForm, slot_id: int) -> Response:
    """Change a slot's places, close it or open it again."""
    slot = bookings.slot_view(front.session, slot_id)

    def change(act: Act) -> SlotRow:
        fields = posted.fields()
        places = fields.whole("places", "Places", 1, MOST_PLACES)
        booking = fields.choice("booking", "open or closed", (OPEN, CLOSED))
        fields.done()
        return slot_actions.change_slot(act, slot_id, posted.edits, places or 0, booking == OPEN)

    return front.do(
        posted,
        change,
        then=lambda _: f"/groups?day={slot.slot.day.isoformat()}#slot-{slot_id}",
        again=lambda problem: groups_page(front, slot.slot.day, problem, f"slot-{slot_id}"),
    )


@router.post("/groups/days/{day}/copy", name="copy_slots")
def copy_slots(front: Desk, posted: PostedForm, day: str) -> Response:
    """Make the slots of a day again for the next day."""
    on = _day(day)
    following = on + timedelta(days=1)

    def copy(act: Act) -> None:
        posted.fields().done()
        slot_actions.copy_slots(act, on, following)

    return front.do(
        posted,
        copy,
        then=lambda _: f"/groups?day={following.isoformat()}",
        again=lambda problem: groups_page(front, on, problem, "copy-slots"),
    )


def _day(said: str) -> date:
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise NotHere("no such day") from None
