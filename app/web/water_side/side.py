"""Water side, before the water: the instructor's groups, getting ready, going in."""

from collections.abc import Callable
from datetime import datetime, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import shore_look
from app.actions.water_side import getting_ready, going_in, pressures
from app.records.groups.groups import groups_of
from app.records.water_side.entry import entry
from app.rules import briefing
from app.rules.languages import NAMES
from app.rules.shore_look import POINTS
from app.rules.sign_off import SKILLS, Mark
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.own_groups import may_run
from app.web.pages import ProblemView, instant_of
from app.web.posted import Posted, PostedForm
from app.web.water_side.pages import (
    HIGHEST_BAR,
    asked_skills,
    back_page,
    out_page,
    own,
    ready_page,
    wrap_page,
)

router = APIRouter()
# A time in is told soon after, or just before.
LATEST_TOLD, EARLIEST_TOLD = timedelta(hours=2), timedelta(minutes=10)


@router.get("/water", name="water_groups")
def water_groups(front: Desk) -> Response:
    """Show today's groups of this instructor; the lead sees all."""
    mine = [view for view in groups_of(front.session, front.today) if may_run(front, view)]
    return front.page("water_side/groups.html", "Water side", views=mine)


@router.get("/water/{group_id}", name="get_ready")
def get_ready(front: Desk, group_id: int) -> Response:
    """Show what is left before going in."""
    return ready_page(front, group_id)


@router.post("/water/{group_id}/briefing", name="answer_briefing")
def answer_briefing(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store the answers of the briefing."""
    own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        said = {item.key: _said(fields, item) for item in briefing.BRIEFING}
        language = fields.choice("language", "a language", NAMES, needed=False)
        fields.done()
        answers = {key: value for key, value in said.items() if value}
        getting_ready.answer_briefing(act, group_id, answers, language)

    return _stay(front, posted, group_id, store, "#kit-check")


@router.post("/water/{group_id}/kit-check/{member_id}", name="check_kit")
def check_kit(front: Desk, posted: PostedForm, group_id: int, member_id: int) -> Response:
    """Store the kit check of one person."""
    own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        said = {item.key: _said(fields, item) for item in briefing.KIT_CHECK}
        fields.done()
        getting_ready.check_kit(act, group_id, {(member_id, key): one for key, one in said.items() if one})

    return _stay(front, posted, group_id, store, "#kit-check")


@router.post("/water/{group_id}/look", name="all_in_order")
def all_in_order(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store that every guest not looked at yet is in order at every point."""
    own(front, group_id)

    def store(act: Act) -> None:
        posted.fields().done()
        shore_look.all_in_order(act, group_id)

    return _stay(front, posted, group_id, store, "#shore-look")


@router.post("/water/{group_id}/look/{guest_id}", name="look_on_shore")
def look_on_shore(front: Desk, posted: PostedForm, group_id: int, guest_id: int) -> Response:
    """Store the look at one guest: every point, in order or not."""
    own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        result = fields.choice("result", "ashore, or all in order", ("ashore", "well"))
        wrong = fields.several("wrong", "what is not in order", POINTS)
        if result and bool(wrong) is not (result == "ashore"):
            fields.wrong("wrong", "Tick what is not in order, or tick nothing and choose All in order.")
        fields.done()
        shore_look.look_on_shore(act, group_id, {guest_id: wrong})

    return _stay(front, posted, group_id, store, "#shore-look")


@router.post("/water/{group_id}/skills", name="sign_skills")
def sign_skills(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store that every guest showed the whole set, except where something else is marked."""
    own(front, group_id)

    def store(act: Act) -> None:
        posted.fields().done()
        asked = asked_skills(entry(act.session, act.house, group_id, act.now))
        getting_ready.sign_skills_for_all(act, group_id, asked)

    return _stay(front, posted, group_id, store, "#skills")


@router.post("/water/{group_id}/skills/{guest_id}", name="sign_guest_skills")
def sign_guest_skills(front: Desk, posted: PostedForm, group_id: int, guest_id: int) -> Response:
    """Store what the instructor saw of one guest."""
    own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        marks = {}
        for key in SKILLS:
            said = fields.choice(key, "what you saw", [mark.value for mark in Mark], needed=False)
            if said:
                marks[guest_id, key] = Mark(said)
        fields.done()
        getting_ready.sign_skills(act, group_id, marks)

    return _stay(front, posted, group_id, store, "#skills")


@router.post("/water/{group_id}/pressures", name="read_pressures")
def read_pressures(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store start pressures, pressures on the way, or end pressures."""
    view = own(front, group_id)
    places: dict[str, tuple[str, Callable[[Front, int, ProblemView | None], Response]]] = {
        "start": ("", ready_page),
        "during": ("/back", back_page),
        "end": ("/wrap", wrap_page),
    }
    place, page = places.get(posted.values.get("moment", ""), places["start"])

    def store(act: Act) -> None:
        fields = posted.fields()
        moment = fields.choice("moment", "start, on the way or end", pressures.MOMENTS)
        read = {
            one.row.id or 0: fields.reading(
                f"bar_{one.row.id}", f"{one.name}'s pressure", 0, HIGHEST_BAR, "bar", needed=False
            )
            for one in view.members
        }
        typed = {number: one for number, one in read.items() if one is not None}
        if not typed and not fields.errors:
            fields.wrong("form", "No pressure was typed. Type what the gauges show.")
        fields.done()
        pressures.read_pressures(act, group_id, moment, typed, posted.device_at)

    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}{place}#pressures",
        again=lambda problem: page(front, group_id, problem),
    )


@router.get("/water/{group_id}/out", name="going_out")
def going_out(front: Desk, group_id: int) -> Response:
    """Show the roll call out."""
    return out_page(front, group_id)


@router.post("/water/{group_id}/out", name="go_in")
def go_in(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Send the group in, if every gate allows it."""
    view = own(front, group_id)

    def enter(act: Act) -> None:
        fields = posted.fields()
        choices = {
            one.row.id or 0: fields.choice(
                f"member_{one.row.id}", f"in or stays ashore for {one.name}", ("in", "stays")
            )
            for one in view.members
        }
        heads = fields.whole("heads", "The head count", 0, 99) or 0
        at = _time_told(front, fields)
        fields.done()
        going_in.go_in(act, group_id, choices, heads, at, posted.device_at)

    return front.do(
        posted,
        enter,
        then=lambda _: f"/water/{group_id}/back",
        again=lambda problem: out_page(front, group_id, problem),
    )


def _stay(front: Front, posted: Posted, group_id: int, store: Callable[[Act], None], place: str) -> Response:
    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}{place}",
        again=lambda problem: ready_page(front, group_id, problem),
    )


def _said(fields: Fields, item: briefing.Item) -> str:
    """Return the answer to one item of a list, "" while there is none: a state, or a figure in its unit."""
    if item.limit is None:
        return fields.choice(item.key, f"an answer: {item.words.lower()}", item.states, needed=False)
    value = fields.number(item.key, item.words, 0, HIGHEST_BAR, item.limit.unit, needed=False)
    return "" if value is None else f"{value:g}"


def _time_told(front: Front, fields: Fields) -> datetime:
    """Return the time in: the typed clock time of today, or now when the box is left empty."""
    said = fields.clock("time", "the time in", needed=False)
    if not said:
        return front.now
    told = instant_of(front.today, said, front.shop.zone)
    if not front.now - LATEST_TOLD <= told <= front.now + EARLIEST_TOLD:
        fields.wrong("time", "The time in must be within the last two hours. Leave it empty for now.")
    return told
