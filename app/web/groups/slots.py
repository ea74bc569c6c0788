"""Slots of a day: the water as it was found, places, closing, and the usual ones again for another day."""

from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.water_side.conditions import Look
from app.actions.water_side.conditions import look_at_water as store_look
from app.actions.welcome import slots as slot_actions
from app.records.groups.arranging import slot_board
from app.records.setup import shop as shop_records
from app.records.store.problems import NotHere
from app.records.tables.parties import SlotRow
from app.records.welcome import bookings
from app.rules.conditions import SEA_WORDS, WIND_WORDS, Grade
from app.web.access import DESK, INSTRUCTOR, LEAD, MANAGER
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.groups.groups import groups_page
from app.web.pages import ProblemView
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
        again=lambda problem: groups_page(front, on, problem),
    )


@router.get("/groups/slots/{slot_id}", name="slot_page")
def slot_page(front: Desk, slot_id: int) -> Response:
    """Show one slot: how the water was found, and its places."""
    return _slot_page(front, slot_id)


@router.post("/groups/slots/{slot_id}/water", name="look_at_water")
def look_at_water(front: Desk, posted: PostedForm, slot_id: int) -> Response:
    """Store a look at the water."""
    slot = bookings.slot_view(front.session, slot_id)

    def look(act: Act) -> None:
        fields = posted.fields()
        found = _look(fields, open_water=not slot.site.confined)
        fields.done()
        store_look(act, slot_id, found)

    return front.do(
        posted,
        look,
        then=lambda _: f"/groups?day={slot.slot.day.isoformat()}#slot-{slot_id}",
        again=lambda problem: _slot_page(front, slot_id, problem),
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
        again=lambda problem: _slot_page(front, slot_id, problem),
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
        again=lambda problem: groups_page(front, on, problem),
    )


def _slot_page(front: Front, slot_id: int, problem: ProblemView | None = None) -> Response:
    row = slot_board(front.session, front.house, slot_id, front.now)
    signed_off = shop_records.closed_day(front.session, row.slot.slot.day) is not None
    return front.page(
        "groups/slot.html",
        row.slot.label,
        problem=problem,
        row=row,
        grades=[("", "Choose"), *((grade.word, grade.word) for grade in Grade)],
        seas=[("", "Choose"), *((word, word) for word in SEA_WORDS)],
        winds=[("", "Not noted"), *((word, word) for word in WIND_WORDS)],
        signed_off=signed_off,
        may_look=front.visitor.has(INSTRUCTOR, LEAD, MANAGER) and not signed_off,
        may_slots=front.visitor.has(DESK, MANAGER) and not signed_off,
    )


def _look(fields: Fields, *, open_water: bool) -> Look:
    return Look(
        grade=fields.choice("grade", "your own grade", [grade.word for grade in Grade]),
        visibility_m=fields.number("visibility_m", "Visibility", 0, 60, "m", needed=open_water),
        current_m_s=fields.number("current_m_s", "Current", 0, 5, "m/s", needed=open_water),
        sea=fields.choice("sea", "how the sea is", SEA_WORDS, needed=open_water),
        water_temp_c=fields.number("water_temp_c", "Water temperature", -2, 40, "°C", needed=False),
        wind=fields.choice("wind", "how the wind is", WIND_WORDS, needed=False),
    )


def _day(said: str) -> date:
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise NotHere("no such day") from None
