"""Breaches of health data: written down always, with a clock, whose data it may be, and who was told."""

from datetime import UTC, date, datetime, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import keeper as acts
from app.actions.health.keeper import BreachWords
from app.records.health import keeper
from app.records.store.problems import NotHere
from app.records.tables.privacy import BreachRow
from app.web.access import MANAGER
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView, instant_of, say_moment
from app.web.posted import PostedForm

router = APIRouter()
EARLIEST = timedelta(days=730)


@router.get("/health-records/breaches", name="breaches_page")
def breaches_page(front: Desk) -> Response:
    """Show every breach, and the form for a new one."""
    return _list(front)


@router.post("/health-records/breaches", name="write_breach")
def write_breach(front: Desk, posted: PostedForm) -> Response:
    """Write a breach down."""

    def write(act: Act) -> BreachRow:
        fields = posted.fields()
        kind = fields.choice("kind", "what happened", acts.KINDS)
        what = fields.note("what", "what happened in a few words", needed=True)
        known = _moment(front, fields, "known", "when somebody here first knew", needed=True)
        first = _moment(front, fields, "from", "from when")
        last = _moment(front, fields, "to", "until when")
        devices, people = keeper.devices_and_people(front.session)
        device = fields.choice("device", "the device", [str(one.id) for one in devices], needed=False)
        person = fields.choice("person", "the person", [str(one.id) for one in people], needed=False)
        fields.done()
        return acts.write_breach(
            act,
            BreachWords(
                kind,
                what,
                known or front.now,
                int(device) if device else None,
                int(person) if person else None,
                first,
                last,
            ),
        )

    return front.do(
        posted,
        write,
        then=lambda row: f"/health-records/breaches/{row.id}",
        again=lambda problem: _list(front, problem),
    )


@router.get("/health-records/breaches/{breach_id}", name="breach")
def breach(front: Desk, breach_id: int) -> Response:
    """Show one breach: its clock, whose data it may be, what was done."""
    return _one(front, breach_id)


@router.post("/health-records/breaches/{breach_id}", name="add_breach_step")
def add_breach_step(front: Desk, posted: PostedForm, breach_id: int) -> Response:
    """Add what was done, or told to whom."""

    def add(act: Act) -> None:
        fields = posted.fields()
        step = fields.choice("step", "what was done", acts.STEPS)
        words = fields.note("words", "what exactly, when and how", needed=True)
        fields.done()
        acts.add_breach_step(act, breach_id, step, words)

    return front.do(
        posted,
        add,
        then=lambda _: f"/health-records/breaches/{breach_id}",
        again=lambda problem: _one(front, breach_id, problem),
    )


def _moment(front: Front, fields: Fields, name: str, what: str, *, needed: bool = False) -> datetime | None:
    day = fields.date3(name, what, front.today - EARLIEST, front.today, needed=needed)
    clock = fields.clock(f"{name}_clock", what, needed=needed)
    if day is None or (needed and not clock):
        return None
    # A day alone is meant whole.
    return instant_of(day, clock or ("00:00" if name == "from" else "23:59"), front.shop.zone)


def _list(front: Front, problem: ProblemView | None = None) -> Response:
    devices, people = keeper.devices_and_people(front.session)
    return front.page(
        "privacy/breaches.html",
        "Breaches",
        problem=problem,
        breaches=keeper.breaches(front.session),
        kinds=list(acts.KINDS.items()),
        devices=[("", "None")] + [(str(one.id), _device(one.name, one.paired_at)) for one in devices],
        people=[("", "Nobody")] + [(str(one.id), one.name) for one in people],
        now_clock=front.clock(front.now),
        moment=lambda at: say_moment(at, front.shop.zone),
        left=lambda one: _left(one, front.now),
    )


def _one(front: Front, breach_id: int, problem: ProblemView | None = None) -> Response:
    found = next((one for one in keeper.breaches(front.session) if one.row.id == breach_id), None)
    if found is None:
        raise NotHere(f"breach {breach_id}")
    devices, people = keeper.devices_and_people(front.session)
    device = next((one for one in devices if one.id == found.row.device_id), None)
    return front.page(
        "privacy/breach.html",
        acts.KINDS[found.row.kind],
        problem=problem,
        one=found,
        device=device,
        person=next((one for one in people if one.id == found.row.person_id), None),
        ends_device=device is not None and device.ended_at is None,
        manages=front.visitor.has(MANAGER),
        guests=keeper.affected(front.session, found.row),
        steps=list(acts.STEPS.items()),
        step_words=acts.STEPS,
        moment=lambda at: say_moment(at, front.shop.zone),
        left=_left(found, front.now),
    )


def _left(one: keeper.BreachView, now: datetime) -> str:
    """Say how long the authority's clock still runs."""
    if one.settled:
        return ""
    hours = (one.tell_by - now) / timedelta(hours=1)
    if hours <= 0:
        return f"{int(-hours)} h over"
    return f"{int(hours)} h left" if hours >= 1 else "less than 1 h left"


def _device(name: str, paired_at: datetime) -> str:
    day: date = paired_at.astimezone(UTC).date()
    return f"{name}, paired {day.day} {day:%b %Y}"
