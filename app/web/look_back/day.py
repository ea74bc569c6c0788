"""Look back: what stands in the way of closing the day, its incidents and gas, the sign-off, the sheet."""

from collections.abc import Mapping
from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.look_back import day_close
from app.records.look_back.day_amended import day_amended
from app.records.look_back.day_end import Place, day_end
from app.records.look_back.day_sheet import day_sheet as sheet_of
from app.records.look_back.day_warnings import day_warnings
from app.records.look_back.gas_log import gas_day
from app.records.look_back.incidents import incidents_of
from app.records.setup.shop import closed_day
from app.records.store import trail
from app.records.store.check import short_head
from app.records.store.problems import NotHere
from app.rules import limits as L
from app.rules.day_close import may_close_day, worth_a_look
from app.rules.decision import Reason
from app.rules.incidents import CATEGORIES, SEVERITIES
from app.web.access import INSTRUCTOR, LEAD
from app.web.front import FIRST_DAY, LAST_DAY, Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.printing import printed

router = APIRouter()
# Where each kind of open thing is put right, by the number of its record.
PLACES = {
    "back": "/water/{}/back",
    "cylinder": "/gas/cylinders/{}",
    "kit": "/kit/items/{}",
    "incident": "/incidents/{}",
}
# Where what is only worth a look is looked at.
LOOKS = {
    L.GAUGE_AGREES_WITH_FILL.key: "/gas/account?day={day}",
    L.CYLINDER_EMPTY_BELOW.key: "/gas",
    L.KIT_RINSED.key: "/kit",
    L.INCIDENT_FOLLOWED_UP.key: "/incidents",
    L.RECORDS_COPIED.key: "/setup",
}


@router.get("/look-back", name="look_back")
def look_back(front: Desk) -> Response:
    """Show the day's incidents and gas, and what stands in the way of closing it."""
    return _day_page(front, front.day_asked())


@router.post("/look-back/{day}/close", name="close_day")
def close_day(front: Desk, posted: PostedForm, day: date) -> Response:
    """Close the day."""
    some_day(day)

    def close(act: Act) -> None:
        fields = posted.fields()
        note = fields.note("note", "a note")
        fields.done()
        day_close.close_day(act, day, note)

    return front.do(
        posted,
        close,
        then=lambda _: f"/look-back?day={day}",
        again=lambda problem: _day_page(front, day, problem),
    )


@router.post("/look-back/{day}/add", name="add_to_day")
def add_to_day(front: Desk, posted: PostedForm, day: date) -> Response:
    """Add to a closed day."""
    some_day(day)

    def add(act: Act) -> None:
        fields = posted.fields()
        note = fields.note("added", "what to add", needed=True)
        fields.done()
        day_close.add_to_day(act, day, note)

    return front.do(
        posted,
        add,
        then=lambda _: f"/look-back?day={day}#amended",
        again=lambda problem: _day_page(front, day, problem),
    )


@router.get("/days/{day}/sheet", name="day_sheet")
def day_sheet(front: Desk, day: date) -> Response:
    """Show each group's plan, sign-offs and logged pressures, for the screen and the print."""
    some_day(day)
    closed = closed_day(front.session, day)
    return printed(
        front,
        "look_back/sheet.html",
        f"Day sheet {day:%a} {day.day} {day:%b %Y}",
        name=f"day-sheet-{day.isoformat()}",
        day=day,
        sheets=sheet_of(front.session, day),
        closed=closed,
        amended=None if closed is None else day_amended(front.session, front.house, closed),
        head=short_head(*trail.head(front.session)),
    )


def some_day(day: date) -> None:
    """Raise NotHere for a day on which no shop was open."""
    if not FIRST_DAY <= day <= LAST_DAY:
        raise NotHere("no such day")


def _day_page(front: Front, day: date, problem: ProblemView | None = None) -> Response:
    end, closed = day_end(front.session, day), closed_day(front.session, day)
    warnings = day_warnings(front.session, front.house, day, front.now, today=front.today)
    return front.page(
        "look_back/day.html",
        f"Look back: {day:%a} {day.day} {day:%b}",
        problem=problem,
        day=day,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        end=end,
        gas=gas_day(front.session, day),
        incidents=incidents_of(front.session, day),
        closed=closed,
        amended=None if closed is None else day_amended(front.session, front.house, closed),
        decision=may_close_day(end.facts),
        warnings=worth_a_look(warnings),
        place=lambda reason: _place(front, end.places, reason),
        look=lambda reason: LOOKS.get(reason.rule, "").format(day=day),
        severities=SEVERITIES,
        categories=CATEGORIES,
    )


def _place(front: Front, places: Mapping[tuple[str, str], Place], reason: Reason) -> str:
    """Return where an open thing is put right; "" where that is not this person's page."""
    kind, number = places.get((reason.rule, reason.who), ("", 0))
    if kind == "group":
        may_wrap = front.visitor.has(INSTRUCTOR, LEAD)
        return f"/water/{number}/wrap" if may_wrap else f"/water/{number}/back"
    return PLACES.get(kind, "").format(number)
