"""Look back: the day's gas, incidents, closing the day, and the day sheet."""

from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions import day_close, incidents
from app.actions.act import Act
from app.records import trail
from app.records.check import short_head
from app.records.day_end import day_facts
from app.records.day_sheet import day_sheet as sheet_of
from app.records.gas_log import gas_day
from app.records.groups import GroupView, group_view, groups_of
from app.records.incidents import IncidentView, incident, incidents_of
from app.records.problems import NotHere
from app.records.shop import closed_day
from app.rules.day_close import may_close_day
from app.rules.incidents import CATEGORIES, PHASES, SEVERITIES
from app.rules.limits import ALL as RULES
from app.web.access import DESK, INSTRUCTOR, LEAD, MANAGER
from app.web.front import FIRST_DAY, LAST_DAY, Desk, Front
from app.web.pages import ProblemView, instant_of
from app.web.posted import PostedForm

router = APIRouter()


@router.get("/look-back", name="look_back")
def look_back(front: Desk) -> Response:
    """Show the day's gas and incidents, and what stands in the way of closing it."""
    return _day_page(front, front.day_asked())


@router.post("/look-back/{day}/close", name="close_day")
def close_day(front: Desk, posted: PostedForm, day: date) -> Response:
    """Close the day."""
    _some_day(day)

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


@router.get("/incidents/new", name="incident_page")
def incident_page(front: Desk) -> Response:
    """Show the incident form."""
    return _incident_form(front)


@router.post("/incidents/new", name="write_incident")
def write_incident(front: Desk, posted: PostedForm) -> Response:
    """Store an incident."""

    def write(act: Act) -> int:
        fields = posted.fields()
        severity = fields.choice("severity", "how bad it was", SEVERITIES)
        category = fields.choice("category", "what kind it was", CATEGORIES)
        phase = fields.choice("phase", "where in the dive", PHASES, needed=False)
        what = fields.note("what", "what happened", needed=True)
        done = fields.note("action_taken", "what was done")
        said = fields.clock("time", "when it happened", needed=False)
        group = fields.choice("group", "a group", [str(view.id) for view in _own_groups(front)], needed=False)
        fields.done()
        at = instant_of(front.today, said, front.shop.zone) if said else front.now
        row = incidents.write_incident(
            act, front.today, at, severity, category, phase, what, done, int(group) if group else None
        )
        return row.id or 0

    return front.do(
        posted,
        write,
        then=lambda number: f"/incidents/{number}",
        again=lambda problem: _incident_form(front, problem),
    )


@router.get("/incidents/{incident_id}", name="incident")
def one_incident(front: Desk, incident_id: int) -> Response:
    """Show one incident to who may read it."""
    return _incident_page(front, incident_id)


@router.post("/incidents/{incident_id}/note", name="add_incident_note")
def add_note(front: Desk, posted: PostedForm, incident_id: int) -> Response:
    """Add to an incident."""
    _readable(front, incident_id)

    def add(act: Act) -> None:
        fields = posted.fields()
        note = fields.note("note", "what to add", needed=True)
        fields.done()
        incidents.add_note(act, incident_id, note)

    return front.do(
        posted,
        add,
        then=lambda _: f"/incidents/{incident_id}",
        again=lambda problem: _incident_page(front, incident_id, problem),
    )


@router.post("/incidents/{incident_id}/read", name="read_incident")
def read_incident(front: Desk, posted: PostedForm, incident_id: int) -> Response:
    """Note that the manager read it, with what is to be done."""
    incident(front.session, incident_id)

    def read(act: Act) -> None:
        fields = posted.fields()
        follow_up = fields.note("follow_up", "what is to be done")
        fields.done()
        incidents.read_incident(act, incident_id, posted.edits, follow_up)

    return front.do(
        posted,
        read,
        then=lambda _: f"/incidents/{incident_id}",
        again=lambda problem: _incident_page(front, incident_id, problem),
    )


@router.get("/days/{day}/sheet", name="day_sheet")
def day_sheet(front: Desk, day: date) -> Response:
    """Show each group's plan, sign-offs and logged pressures, for the screen and the print."""
    _some_day(day)
    return front.page(
        "look_back/sheet.html",
        f"Day sheet {day:%a} {day.day} {day:%b %Y}",
        day=day,
        sheets=sheet_of(front.session, day),
        closed=closed_day(front.session, day),
        head=short_head(*trail.head(front.session)),
    )


def _day_page(front: Front, day: date, problem: ProblemView | None = None) -> Response:
    return front.page(
        "look_back/day.html",
        f"Look back: {day:%a} {day.day} {day:%b}",
        problem=problem,
        day=day,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        gas=gas_day(front.session, day),
        incidents=incidents_of(front.session, day),
        closed=closed_day(front.session, day),
        decision=may_close_day(day_facts(front.session, day)),
        severities=SEVERITIES,
        categories=CATEGORIES,
    )


def _incident_form(front: Front, problem: ProblemView | None = None) -> Response:
    groups = [("", "No group")] + [(view.id, view.label) for view in _own_groups(front)]
    return front.page(
        "look_back/incident_form.html",
        "Write down what happened",
        problem=problem,
        severities=[(key, key.replace("-", " ").capitalize(), text) for key, text in SEVERITIES.items()],
        categories=[("", "Choose one"), *CATEGORIES.items()],
        phases=[("", "Not in the water"), *PHASES.items()],
        groups=groups,
    )


def _incident_page(front: Front, incident_id: int, problem: ProblemView | None = None) -> Response:
    return front.page(
        "look_back/incident.html",
        "Incident",
        problem=problem,
        view=_readable(front, incident_id),
        categories=CATEGORIES,
        phases=PHASES,
        severities=SEVERITIES,
        rules=RULES,
        manager=front.visitor.has(MANAGER),
    )


def _readable(front: Front, incident_id: int) -> IncidentView:
    """Return an incident this visitor may read: the manager all, the lead today's, others their own."""
    found = incident(front.session, incident_id)
    who = front.visitor
    own = found.row.written_by_id is not None and found.row.written_by_id == who.person_id
    todays = who.has(LEAD) and found.row.day == front.today
    if not (who.has(MANAGER) or own or todays or _with_group(front, found)):
        raise NotHere(f"incident {incident_id}")
    return found


def _with_group(front: Front, found: IncidentView) -> bool:
    """Return whether an incident is about a group that this visitor was in the water with."""
    if found.group is None or not front.visitor.has(INSTRUCTOR):
        return False
    return _is_in(front, group_view(front.session, found.group.id or 0))


def _own_groups(front: Front) -> list[GroupView]:
    views = groups_of(front.session, front.today)
    if front.visitor.has(DESK, LEAD, MANAGER):
        return views
    return [view for view in views if _is_in(front, view)]


def _is_in(front: Front, view: GroupView) -> bool:
    return front.visitor.person_id in {one.row.person_id for one in view.members if one.row.person_id}


def _some_day(day: date) -> None:
    """Raise NotHere for a day on which no shop was open."""
    if not FIRST_DAY <= day <= LAST_DAY:
        raise NotHere("no such day")
