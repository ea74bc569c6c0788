"""Incidents: written in a line by anybody, read by who may, added to and put right without losing a word."""

from collections.abc import Sequence
from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.look_back import incidents
from app.records.groups.groups import GroupView, group_view, groups_of
from app.records.keep.paper import from_paper
from app.records.look_back.incident_file import IncidentFile, follows_up, incident_file
from app.records.look_back.incident_timeline import timeline
from app.records.look_back.incidents import IncidentView, incident
from app.records.setup.visits import team
from app.records.store.problems import NotHere
from app.rules.incident_close import may_close_incident
from app.rules.incident_file import FACTS, PARTS, STEPS, WHOM, authority_told, facts_in, oxygen_given
from app.rules.incidents import CATEGORIES, PHASES, SEVERITIES
from app.rules.limits import ALL as RULES
from app.rules.notifying import ASK, deadlines, duty_of, is_asked
from app.web.access import DESK, INSTRUCTOR, LEAD, MANAGER
from app.web.fields import Fields
from app.web.front import FIRST_DAY, Desk, Front
from app.web.pages import ProblemView, instant_of
from app.web.posted import PostedForm

router = APIRouter()
Choices = Sequence[tuple[str, str]]


@router.get("/incidents/new", name="incident_page")
def incident_page(front: Desk) -> Response:
    """Show the incident form: a line, a kind, how bad."""
    return _incident_form(front, _day_asked(front))


@router.post("/incidents/new", name="write_incident")
def write_incident(front: Desk, posted: PostedForm) -> Response:
    """Store an incident."""
    day = _day_typed(front, posted.values.get("day", ""))

    def write(act: Act) -> int:
        fields = posted.fields()
        fields.text("day", "the day", needed=False)
        severity = fields.choice("severity", "how bad it was", SEVERITIES)
        category = fields.choice("category", "what kind it was", CATEGORIES)
        phase = fields.choice("phase", "where in the dive", PHASES, needed=False)
        what = fields.note("what", "what happened", needed=True)
        done = fields.note("action_taken", "what was done")
        said = fields.clock("time", "when it happened", needed=False)
        offered = [str(view.id) for view in _own_groups(front, day)]
        group = fields.choice("group", "a group", offered, needed=False)
        fields.done()
        at = instant_of(day, said, front.shop.zone) if said or day != front.today else front.now
        row = incidents.write_incident(
            act, day, at, severity, category, phase, what, done, int(group) if group else None
        )
        return row.id or 0

    return front.do(
        posted,
        write,
        then=lambda number: f"/incidents/{number}",
        again=lambda problem: _incident_form(front, day, problem),
    )


@router.get("/incidents/{incident_id}", name="incident")
def one_incident(front: Desk, incident_id: int) -> Response:
    """Show one incident to who may read it."""
    return file_page(front, incident_id)


@router.post("/incidents/{incident_id}/note", name="add_incident_note")
def add_note(front: Desk, posted: PostedForm, incident_id: int) -> Response:
    """Add to an incident."""
    readable(front, incident_id)

    def add(act: Act) -> None:
        fields = posted.fields()
        note = fields.note("note", "what to add", needed=True)
        fields.done()
        incidents.add_note(act, incident_id, note)

    return front.do(
        posted,
        add,
        then=lambda _: f"/incidents/{incident_id}",
        again=lambda problem: file_page(front, incident_id, problem),
    )


@router.post("/incidents/{incident_id}/correct", name="correct_incident")
def correct_incident(front: Desk, posted: PostedForm, incident_id: int) -> Response:
    """Put right how bad, what kind, where, when and whom it is about; what stood there stays to be read."""
    row = readable(front, incident_id).row

    def correct(act: Act) -> None:
        fields = posted.fields()
        file = incident_file(act.session, incident_id)
        values: dict[str, incidents.Value] = {
            "severity": fields.choice("severity", "how bad it was", SEVERITIES),
            "category": fields.choice("category", "what kind it was", CATEGORIES),
            "phase": fields.choice("phase", "where in the dive", PHASES, needed=False),
        }
        said = fields.clock("time", "when it happened")
        people = [key for key, _ in _people(file)]
        about = fields.choice("about", "somebody of the group", people, needed=False)
        groups = [key for key, _ in _groups(front, file)]
        group = fields.choice("group", "a group", groups, needed=False)
        why = fields.text("why", "why it is put right", most=200)
        fields.done()
        if said != front.clock(row.happened_at):
            values["happened_at"] = instant_of(row.day, said, front.shop.zone)
        if file.view.row.made_by == "hand":
            values["group_id"] = int(group) if group else None
            # Whom it is about is chosen again in another group.
            values["member_id"] = int(about) if about and values["group_id"] == row.group_id else None
        incidents.correct_incident(act, incident_id, posted.edits, values, why)

    return front.do(
        posted,
        correct,
        then=lambda _: f"/incidents/{incident_id}",
        again=lambda problem: file_page(front, incident_id, problem),
    )


@router.post("/incidents/{incident_id}/read", name="read_incident")
def read_incident(front: Desk, posted: PostedForm, incident_id: int) -> Response:
    """Note that the manager read it."""
    incident(front.session, incident_id)

    def read(act: Act) -> None:
        posted.fields().done()
        incidents.read_incident(act, incident_id, posted.edits)

    return front.do(
        posted,
        read,
        then=lambda _: f"/incidents/{incident_id}",
        again=lambda problem: file_page(front, incident_id, problem),
    )


def file_page(front: Front, incident_id: int, problem: ProblemView | None = None) -> Response:
    """Show the whole file of an incident to who may read it; raises NotHere for anybody else."""
    readable(front, incident_id)
    file = incident_file(front.session, incident_id)
    row, duty = file.view.row, duty_of(front.shop.preset.key)
    return front.page(
        "look_back/incident.html",
        "Incident",
        problem=problem,
        file=file,
        row=row,
        from_paper=from_paper(front.session, "incident", [row.id]).get(row.id or 0),
        moments=timeline(front.session, file),
        oxygen=oxygen_given(file.steps_done),
        told_at=authority_told(file.steps_done),
        duty=duty,
        deadlines=() if duty is None else deadlines(duty, row.happened_at),
        authority_asked=is_asked(row.severity, file.said("notifiable")),
        ask_words=ASK,
        closing=may_close_incident(file.close_facts),
        facts_in=facts_in,
        fact_words=FACTS,
        parts=PARTS,
        steps=list(STEPS.items()),
        whom=[("", "Choose"), *WHOM.items()],
        people=[("", "Nobody in particular"), *_people(file)],
        groups=[("", "No group"), *groups] if (groups := _groups(front, file)) else [],
        team=[("", "Choose"), *((str(one.id), one.name) for one in team(front.session))],
        step_days=_step_days(front, row.day),
        week=front.today + timedelta(days=7),
        categories=CATEGORIES,
        phases=PHASES,
        severities=SEVERITIES,
        severity_choices=[(key, key.replace("-", " ").capitalize()) for key in SEVERITIES],
        rules=RULES,
        manager=front.visitor.has(MANAGER),
    )


def readable(front: Front, incident_id: int) -> IncidentView:
    """Return an incident this visitor may read: the manager all, the lead today's, others their own.

    Their own are those they wrote, of the groups they were in the water with, and what they follow up.
    """
    found = incident(front.session, incident_id)
    who = front.visitor
    own = found.row.written_by_id is not None and found.row.written_by_id == who.person_id
    todays = who.has(LEAD) and found.row.day == front.today
    if not (
        who.has(MANAGER)
        or own
        or todays
        or _with_group(front, found)
        or follows_up(front.session, found.row, who.person_id)
    ):
        raise NotHere(f"incident {incident_id}")
    return found


def step_day(front: Front, fields: Fields, day: date) -> date:
    """Return the day a step was on: the incident's, or today where that is another one."""
    said = fields.choice("on", "the day", [key for key, _ in _step_days(front, day)], needed=False)
    return date.fromisoformat(said) if said else front.today


def _step_days(front: Front, day: date) -> Choices:
    if day == front.today:
        return ()
    return ((front.today.isoformat(), "Today"), (day.isoformat(), "The day of the incident"))


def _incident_form(front: Front, day: date, problem: ProblemView | None = None) -> Response:
    views = _own_groups(front, day)
    asked = front.request.query_params.get("group", "")
    return front.page(
        "look_back/incident_form.html",
        "Write down what happened",
        problem=problem,
        day=day,
        severities=[(key, key.replace("-", " ").capitalize(), text) for key, text in SEVERITIES.items()],
        categories=list(CATEGORIES.items()),
        phases=[("", "Not in the water"), *PHASES.items()],
        groups=[("", "No group"), *((view.id, view.label) for view in views)],
        group=asked if asked in {str(view.id) for view in views} else "",
    )


def _day_asked(front: Front) -> date:
    return _day_typed(front, front.request.query_params.get("day", ""))


def _day_typed(front: Front, said: str) -> date:
    """Return the day an incident is written for: today or an earlier one; raises NotHere."""
    try:
        day = date.fromisoformat(said) if said else front.today
    except ValueError:
        raise NotHere("no such day") from None
    if not FIRST_DAY <= day <= front.today:
        raise NotHere("no such day")
    return day


def _people(file: IncidentFile) -> Choices:
    members = () if file.group is None else file.group.members
    return tuple((str(one.row.id), one.name) for one in members)


def _groups(front: Front, file: IncidentFile) -> Choices:
    """Return the groups that an incident written by hand may be about: those of its day."""
    if file.view.row.made_by != "hand":
        return ()
    views = _own_groups(front, file.view.row.day)
    if file.group is not None and file.group.id not in {view.id for view in views}:
        views.append(file.group)
    return tuple((str(view.id), view.label) for view in views)


def _with_group(front: Front, found: IncidentView) -> bool:
    """Return whether an incident is about a group that this visitor was in the water with."""
    if found.group is None or not front.visitor.has(INSTRUCTOR):
        return False
    return _is_in(front, group_view(front.session, found.group.id or 0))


def _own_groups(front: Front, day: date) -> list[GroupView]:
    views = groups_of(front.session, day)
    if front.visitor.has(DESK, LEAD, MANAGER):
        return views
    return [view for view in views if _is_in(front, view)]


def _is_in(front: Front, view: GroupView) -> bool:
    return front.visitor.person_id in {one.row.person_id for one in view.members if one.row.person_id}
