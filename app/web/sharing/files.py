"""Exports of days, a group or a guest as CSV or Excel, slots and staff as a calendar, everything as JSON."""

import hashlib
from collections.abc import Callable, Iterator
from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response, StreamingResponse

from app.actions.act import Act, Problem
from app.actions.keep import exports as acts
from app.records.groups.groups import groups_of, team
from app.records.keep.export_table import Scope, days_scope, group_scope, guest_scope
from app.records.keep.exports import export_of
from app.records.keep.sheet_out import EXCEL, csv_folder, excel_book
from app.records.keep.whole_export import count_rows, whole_json
from app.records.today.calendar_out import calendar
from app.records.welcome import bookings
from app.web.fields import Fields
from app.web.front import FIRST_DAY, LAST_DAY, Desk, Front
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm
from app.web.setup.shop import asks_again, confirm

router = APIRouter()
# How each form is called, what its file ends with, and its type.
FORMS = {"xlsx": ("Excel", "xlsx", EXCEL), "csv": ("CSV", "zip", "application/zip")}
MOST_DAYS = 366
CALENDAR_DAYS = 60
CALENDAR = "text/calendar; charset=utf-8"
EVERYBODY = "everybody"


@router.get("/share", name="share")
def share(front: Desk) -> Response:
    """Show what can leave the shop, and how."""
    return _page(front)


@router.post("/share/days", name="export_days")
def export_days(front: Desk, posted: PostedForm) -> Response:
    """Hand the records of some days over."""

    def chosen(fields: Fields) -> Scope:
        first = fields.date3("first", "the first day", FIRST_DAY, LAST_DAY)
        last = fields.date3("last", "the last day", FIRST_DAY, LAST_DAY)
        if first and last and last < first:
            fields.wrong("last", "The last day must not be before the first.")
        if first and last and (last - first).days >= MOST_DAYS:
            fields.wrong("last", f"Choose at most {MOST_DAYS} days at once.")
        fields.done()
        return days_scope(front.session, front.house, front.shop, first or front.today, last or front.today)

    return _tables(front, posted, "days", chosen)


@router.post("/share/group", name="export_group")
def export_group(front: Desk, posted: PostedForm) -> Response:
    """Hand the records of one group over."""

    def chosen(fields: Fields) -> Scope:
        group_id = fields.whole("group", "the group", 1, 10**9, needed=False)
        if group_id is None:
            fields.wrong("group", "Choose a group.")
        fields.done()
        return group_scope(front.session, front.house, front.shop, group_id or 0)

    return _tables(front, posted, "group", chosen)


@router.post("/share/guests/{guest_id}", name="export_guest")
def export_guest(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Hand one guest's own dives, skills and kit over; of health no more than the word."""
    party = bookings.guest(front.session, guest_id).party_id
    day = bookings.party_view(front.session, party).slot.slot.day
    scope = guest_scope(front.session, front.house, front.shop, guest_id, day)
    return _tables(front, posted, f"guest {guest_id}", lambda fields: _whole(fields, scope))


@router.post("/share/calendar", name="export_calendar")
def export_calendar(front: Desk, posted: PostedForm) -> Response:
    """Hand the slots and who works in them over as a calendar, from today on."""
    people = {str(one.id): one for one in team(front.session)}
    whose = posted.values.get("whose", "")
    until = front.today + timedelta(days=CALENDAR_DAYS)
    data, events = calendar(
        front.session,
        front.house,
        front.shop,
        front.today,
        until,
        people[whose].id if whose in people else None,
        front.now,
    )

    def note(act: Act) -> None:
        fields = posted.fields()
        fields.choice("whose", "whose calendar", [EVERYBODY, *people])
        fields.done()
        acts.note_export(act, "calendar", "ICS", f"{events} events", hashlib.sha256(data).hexdigest())

    return front.do(
        posted,
        note,
        then=lambda _: "/share",
        again=lambda problem: _page(front, problem),
        show=lambda _: _file(data, CALENDAR, f"slots-{front.today.isoformat()}.ics"),
    )


@router.post("/share/everything", name="export_everything")
def export_everything(front: Desk, posted: PostedForm) -> Response:
    """Hand everything that the shop wrote down over as one JSON text, sent piece by piece."""
    rows, house, now = count_rows(front.session), front.house, front.now

    def note(act: Act) -> None:
        fields = posted.fields()
        confirm(front, act, fields)
        fields.done()
        acts.note_export(act, "everything", "JSON", f"{rows} rows")

    def pieces() -> Iterator[str]:
        with house.store.reading() as session:
            yield from whole_json(session, now)

    name = f"everything-{front.today.isoformat()}.json"
    return front.do(
        posted,
        note,
        then=lambda _: "/share",
        again=lambda problem: _page(front, problem),
        show=lambda _: StreamingResponse(
            pieces(), media_type="application/json", headers=_as_attachment(name)
        ),
    )


def _whole(fields: Fields, scope: Scope) -> Scope:
    fields.done()
    return scope


def _tables(front: Front, posted: Posted, what: str, chosen: Callable[[Fields], Scope]) -> Response:
    """Read the form, make the file, write down that it left, and send it.

    The file is made before the store is asked for its turn to write: a year of days takes a while.
    """
    fields = posted.fields()
    try:
        form, ending, kind = FORMS[fields.choice("form", "Excel or CSV", list(FORMS)) or "xlsx"]
        scope = chosen(fields)
    except Problem as problem:
        name = front.request.scope["route"].name
        return _page(front, ProblemView.of(problem, name, posted.values, front.shop.zone, posted.path))
    tables = export_of(scope)
    if ending == "zip":
        data = csv_folder([(one.key, one.titles, one.rows) for one in tables])
    else:
        data = excel_book([(one.title, one.titles, one.rows) for one in tables])
    rows = sum(len(one.rows) for one in tables)
    span = f"{scope.first.isoformat()} to {scope.last.isoformat()}"

    def note(act: Act) -> None:
        about = f"group {scope.views[0].id}" if scope.one_group else what
        acts.note_export(act, about, form, f"{rows} rows of {span}", hashlib.sha256(data).hexdigest())

    name = f"{what.replace(' ', '-')}-{scope.first.isoformat()}-{scope.last.isoformat()}.{ending}"
    return front.do(
        posted,
        note,
        then=lambda _: "/share",
        again=lambda problem: _page(front, problem),
        show=lambda _: _file(data, kind, name),
    )


def _file(data: bytes, kind: str, name: str) -> Response:
    return Response(data, media_type=kind, headers=_as_attachment(name))


def _as_attachment(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    day = front.day_asked()
    return front.page(
        "sharing/share.html",
        "Keep and share",
        problem=problem,
        day=day,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        month=day.replace(day=1),
        groups=[
            (view.id, f"{view.slot.clock} Group {view.group.name}, {view.site.name}")
            for view in groups_of(front.session, day)
        ],
        people=[(EVERYBODY, "Every slot and group"), *((one.id, one.name) for one in team(front.session))],
        calendar_days=CALENDAR_DAYS,
        asks_again=asks_again(front),
    )
