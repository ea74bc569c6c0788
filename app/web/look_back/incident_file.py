"""Finishing an incident later: what led to what, what was done, kit kept aside, follow-ups, closing it."""

from collections.abc import Callable
from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.look_back import incident_file as actions
from app.records.look_back.incident_file import incident_file
from app.records.setup.visits import team
from app.records.store.problems import NotHere
from app.records.tables.incidents import IncidentTaskRow
from app.rules.incident_file import MOST_FLOW_L_MIN, PARTS, STEPS, WHOM, Fact, facts_in
from app.web.access import MANAGER
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.look_back.incidents import file_page, readable, step_day
from app.web.pages import instant_of
from app.web.posted import Posted, PostedForm
from app.web.water_side.pages import HIGHEST_BAR
from app.web.water_side.wrap import DEEPEST_M

router = APIRouter()
# A follow-up further away than this is a typing error.
LONGEST_FOLLOW_UP = timedelta(days=1100)


@router.post("/incidents/{incident_id}/facts/{part}", name="say_incident_facts")
def say_facts(front: Desk, posted: PostedForm, incident_id: int, part: str) -> Response:
    """Add what is said to the questions of one part."""
    readable(front, incident_id)
    asked = [fact for known in PARTS if known == part for fact in facts_in(known)]
    if not asked:
        raise NotHere(f"part {part}")

    def say(act: Act) -> None:
        fields = posted.fields()
        said = {fact.key: _said(fields, fact) for fact in asked}
        fields.done()
        actions.say_facts(act, incident_id, said)

    return _file(front, posted, incident_id, say, part)


@router.post("/incidents/{incident_id}/steps", name="add_incident_step")
def add_step(front: Desk, posted: PostedForm, incident_id: int) -> Response:
    """Write one thing that was done."""
    row = readable(front, incident_id).row

    def add(act: Act) -> None:
        fields = posted.fields()
        kind = fields.choice("kind", "what was done", STEPS)
        whom = fields.choice("whom", "who was called", WHOM, needed=False)
        what = fields.note("what", "what was done")
        flow = fields.number("flow_l_min", "Flow", 1, MOST_FLOW_L_MIN, "L/min", needed=False)
        said = fields.clock("time", "when it was", needed=False)
        day = step_day(front, fields, row.day)
        fields.done()
        at = instant_of(day, said, front.shop.zone) if said else front.now
        actions.add_step(act, incident_id, kind, at, whom, what, flow)

    return _file(front, posted, incident_id, add, "done")


@router.post("/incidents/{incident_id}/keep", name="keep_for_incident")
def keep_aside(front: Desk, posted: PostedForm, incident_id: int) -> Response:
    """Set cylinders and kit aside as they are."""
    readable(front, incident_id)

    def keep(act: Act) -> None:
        fields = posted.fields()
        offered = [f"{one.kind}-{one.number}" for one in incident_file(act.session, incident_id).offered]
        ticked = [one.partition("-") for one in fields.several("keep", "what is kept", offered)]
        fields.done()
        numbers = {
            kind: [int(number) for of, _, number in ticked if of == kind] for kind in ("cylinder", "kit")
        }
        actions.keep_aside(act, incident_id, numbers["cylinder"], numbers["kit"])

    return _file(front, posted, incident_id, keep, "kept")


@router.post("/incidents/{incident_id}/tasks", name="set_incident_task")
def set_task(front: Desk, posted: PostedForm, incident_id: int) -> Response:
    """Set a follow-up."""
    readable(front, incident_id)

    def add(act: Act) -> None:
        fields = posted.fields()
        what = fields.text("what", "what is to be done", most=200)
        owner = fields.choice("owner", "who does it", [str(one.id) for one in team(act.session)])
        due = fields.date3("due", "the day", front.today, front.today + LONGEST_FOLLOW_UP)
        fields.done()
        actions.set_task(act, incident_id, what, int(owner), due or front.today)

    return _file(front, posted, incident_id, add, "follow-up")


@router.post("/incidents/{incident_id}/tasks/{task_id}/done", name="finish_incident_task")
def finish_task(front: Desk, posted: PostedForm, incident_id: int, task_id: int) -> Response:
    """Mark a follow-up as done: whose it is, or the manager."""
    readable(front, incident_id)
    task = front.session.get(IncidentTaskRow, task_id)
    if task is None or task.incident_id != incident_id:
        raise NotHere(f"follow-up {task_id}")
    if not front.visitor.has(MANAGER) and task.owner_id != front.visitor.person_id:
        raise NotHere(f"follow-up {task_id}")

    def finish(act: Act) -> None:
        fields = posted.fields()
        how = fields.text("how", "how it was done", most=200)
        fields.done()
        actions.finish_task(act, task_id, posted.edits, how)

    return _file(front, posted, incident_id, finish, "follow-up")


@router.post("/incidents/{incident_id}/close", name="close_incident")
def close_incident(front: Desk, posted: PostedForm, incident_id: int) -> Response:
    """Close an incident."""
    readable(front, incident_id)

    def close(act: Act) -> None:
        posted.fields().done()
        actions.close_incident(act, incident_id, posted.edits)

    return _file(front, posted, incident_id, close, "")


def _said(fields: Fields, fact: Fact) -> str:
    what = fact.label.lower()
    if fact.kind == "choice":
        return fields.choice(fact.key, what, fact.options, needed=False)
    if fact.kind == "line":
        return fields.text(fact.key, what, most=200, needed=False)
    if fact.kind == "note":
        return fields.note(fact.key, what)
    most, unit = (DEEPEST_M, "m") if fact.kind == "metres" else (HIGHEST_BAR, "bar")
    read = fields.number(fact.key, fact.label, 0, most, unit, needed=False)
    return "" if read is None else f"{read:g}"


def _file(
    front: Front, posted: Posted, incident_id: int, action: Callable[[Act], object], place: str
) -> Response:
    return front.do(
        posted,
        action,
        then=lambda _: f"/incidents/{incident_id}" + (f"#{place}" if place else ""),
        again=lambda problem: file_page(front, incident_id, problem),
    )
