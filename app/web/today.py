"""Today: one row per group and slot, what is needed next and by whom; who is in the water."""

from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.shop import closed_day, limits_now
from app.records.today import today as today_records
from app.records.water import in_the_water
from app.rules.roll_call import lateness
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
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        shown=today_records(front.session, front.house, day, front.now),
        closed=closed_day(front.session, day),
        people=in_the_water(front.session),
    )


@router.get("/today/water", name="water_board")
def water_board(front: Desk) -> Response:
    """Show who is in the water, since when, and when they are due."""
    limits = limits_now(front.session)
    people = [(one, lateness(one.due_at, front.now, limits)) for one in in_the_water(front.session)]
    return front.page("today/water.html", "In the water", people=people)
