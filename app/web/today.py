"""Today: one row per group and slot, what is needed next and by whom; who is in the water."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.records import bookings
from app.records.water import in_the_water
from app.web.front import Desk

router = APIRouter()


@router.get("/today", name="today")
def today(front: Desk) -> Response:
    """Show the day; people in the water come first."""
    day = front.day_asked()
    return front.page(
        "today/today.html",
        "Today" if day == front.today else f"{day:%a} {day.day} {day:%b}",
        day=day,
        slots=bookings.slots_of(front.session, day),
        parties=bookings.parties_of(front.session, day),
    )


@router.get("/today/water", name="water_board")
def water_board(front: Desk) -> Response:
    """Show who is in the water, since when, and when they are due."""
    return front.page("today/water.html", "In the water", people=in_the_water(front.session))
