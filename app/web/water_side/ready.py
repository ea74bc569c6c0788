"""Water side: Get ready. What is left before going in, and the marks for the whole group."""

from collections.abc import Callable

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import shore_look
from app.actions.water_side import getting_ready
from app.records.gas_room.gauge_doubts import expected_at_water, open_doubts
from app.records.guest_side.languages import complete_languages, own_name
from app.records.water_side.entry import Entry, entry
from app.records.water_side.second_eyes import OTHER, briefing_rows, people_near, said_in
from app.rules import briefing, limits
from app.rules.languages import NAMES
from app.rules.readiness import may_enter_water
from app.rules.shore_look import POINTS
from app.rules.sign_off import SKILLS, Mark, standing
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.groups.guide_day import group_days
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm
from app.web.water_side.pages import HIGHEST_BAR, common, lead_of, own

router = APIRouter()
BY_MISTAKE = "entered by mistake"


@router.get("/water/{group_id}", name="get_ready")
def get_ready(front: Desk, group_id: int) -> Response:
    """Show what is left before going in."""
    return ready_page(front, group_id)


@router.post("/water/{group_id}/briefing", name="answer_briefing")
def answer_briefing(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store the answers of the briefing, in which language it was said, and who interpreted."""
    view = own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        told = {item.key: said(fields, item) for item in briefing.BRIEFING}
        language = fields.choice("language", "a language", NAMES, needed=False)
        near = (OTHER, *people_near(act.session, view))
        interpreter = fields.choice("interpreter", "who put it into that language", near, needed=False)
        fields.done()
        answers = {key: value for key, value in told.items() if value}
        getting_ready.answer_briefing(act, group_id, answers, language, interpreter)

    return _stay(front, posted, group_id, store, "#kit-check")


@router.post("/water/{group_id}/briefing/undo", name="undo_briefing")
def undo_briefing(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Take back what was last sent of the briefing."""
    own(front, group_id)

    def undo(act: Act) -> None:
        getting_ready.take_back_answers(act, group_id, None, why_taken_back(posted))

    return _stay(front, posted, group_id, undo, "#briefing")


@router.post("/water/{group_id}/second-look", name="second_look")
def second_look(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store who looked as second at every kit that is checked."""
    view = own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        second = fields.choice("second", "who looked as second", people_near(act.session, view))
        fields.done()
        getting_ready.look_second_at_all(act, group_id, second)

    return _stay(front, posted, group_id, store, "#kit-check")


@router.post("/water/{group_id}/look", name="all_in_order")
def all_in_order(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store that every guest not looked at yet is in order at every point."""
    own(front, group_id)

    def store(act: Act) -> None:
        posted.fields().done()
        shore_look.all_in_order(act, group_id)

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


def why_taken_back(posted: Posted) -> str:
    """Return why something is taken back; left empty, it was entered by mistake."""
    fields = posted.fields()
    why = fields.text("why", "why it is taken back", needed=False)
    fields.done()
    return why or BY_MISTAKE


def asked_skills(found: Entry) -> tuple[str, ...]:
    """Return the skills that the limits in force ask of a guest, in the order of the water."""
    asked = found.limits[limits.SKILLS_REQUIRED_SET].names or ()
    return tuple(key for key in SKILLS if key in asked)


def ready_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    """Getting ready: briefing, kit check, skills, start pressures, and what still stands in the way."""
    own(front, group_id)
    found = entry(front.session, front.house, group_id, front.now)
    facts, view = found.facts, found.view
    told = {(one.about, one.item): one for one in facts.answers if one.on == view.slot.day}
    newest = {key: one for key, one in told.items() if one.value is not None}
    guests = [one for one in found.divers if one.member.guest_id is not None]
    marks = {one.key: standing(one.key, facts.marks, view.slot.day) for one in guests}
    asked = asked_skills(found)
    shown = {key: sum(seen.get(skill) is Mark.SHOWN for skill in asked) for key, seen in marks.items()}
    kit_done = {
        one.key: sum((one.key, item.key) in newest for item in briefing.KIT_CHECK) for one in found.divers
    }
    near = people_near(front.session, view)
    seconds = {
        one.key: look.value
        for one in found.divers
        if (look := briefing.second_look(facts.answers, view.slot.day, one.key)) is not None
    }
    briefed_rows = [row for row in briefing_rows(front.session, group_id) if not row.about]
    return front.page(
        "water_side/ready.html",
        f"Get ready: group {view.group.name}",
        problem=problem,
        decision=may_enter_water(facts, found.limits, front.now),
        briefing_items=[
            (
                item,
                newest.get(("", item.key)),
                None if item.limit is None else found.limits[item.limit].number,
            )
            for item in briefing.BRIEFING
        ],
        languages=[("", "Not noted"), *((code, own_name(code)) for code in complete_languages())],
        briefed=sum(("", item.key) in newest for item in briefing.BRIEFING),
        kit_items=briefing.KIT_CHECK,
        kit_done=kit_done,
        seconds=seconds,
        near=near,
        kit_whole=sum(
            briefing.kit_checked(facts.answers, found.limits, view.slot.day, one.key, one.name).allowed
            for one in found.divers
        ),
        spoken_in=said_in(front.session, group_id),
        interpreters=[("", "Nobody"), *near.items(), (OTHER, "Somebody who came with them")],
        last_briefed=briefed_rows[-1] if briefed_rows else None,
        revised=briefing.REVISED,
        skills=asked,
        shown=shown,
        able=sum(count == len(asked) for count in shown.values()),
        any_mark=any(marks.values()),
        practising={
            key for key, seen in marks.items() if any(mark is not Mark.SHOWN for mark in seen.values())
        },
        points=list(POINTS.values()),
        looks={one.id: one.look for one in facts.group.guests if one.look is not None},
        divers=found.divers,
        lead=lead_of(front, view),
        plan=found.plan,
        expected=expected_at_water(front.session, view),
        doubts=[one for one in open_doubts(front.session) if one.group_id == view.id],
        **group_days(front, view, found.limits),
        **common(front, view, "Get ready"),
    )


def _stay(front: Front, posted: Posted, group_id: int, store: Callable[[Act], None], place: str) -> Response:
    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}{place}",
        again=lambda problem: ready_page(front, group_id, problem),
    )


def said(fields: Fields, item: briefing.Item) -> str:
    """Return the answer to one item of a list, "" while there is none: a state, or a figure in its unit."""
    if item.limit is None:
        return fields.choice(item.key, f"an answer: {item.words.lower()}", item.states, needed=False)
    value = fields.number(item.key, item.words, 0, HIGHEST_BAR, item.limit.unit, needed=False)
    return "" if value is None else f"{value:g}"
