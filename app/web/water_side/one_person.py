"""Water side, one person before the water: kit check, look on shore, skills; each back to its place after."""

from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import shore_look
from app.actions.water_side import getting_ready
from app.records.store.problems import NotHere
from app.records.water_side.entry import DiverView, Entry, entry
from app.rules import briefing
from app.rules.shore_look import POINTS
from app.rules.sign_off import SKILLS, Mark, standing
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.water_side.pages import common, own
from app.web.water_side.ready import asked_skills, said

router = APIRouter()
MARKS = ((Mark.SHOWN, "Shown"), (Mark.NEEDS_WORK, "Needs work"), (Mark.REFUSED, "Did not want to"))


@router.get("/water/{group_id}/kit-check/{member_id}", name="kit_check_of")
def kit_check_of(front: Desk, group_id: int, member_id: int) -> Response:
    """Show the kit check of one person."""
    return _kit_page(front, group_id, member_id)


@router.post("/water/{group_id}/kit-check/{member_id}", name="check_kit")
def check_kit(front: Desk, posted: PostedForm, group_id: int, member_id: int) -> Response:
    """Store the kit check of one person."""
    own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        answers = {item.key: said(fields, item) for item in briefing.KIT_CHECK}
        fields.done()
        getting_ready.check_kit(act, group_id, {(member_id, key): one for key, one in answers.items() if one})

    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}#kit-check",
        again=lambda problem: _kit_page(front, group_id, member_id, problem),
    )


@router.get("/water/{group_id}/look/{guest_id}", name="shore_look_of")
def shore_look_of(front: Desk, group_id: int, guest_id: int) -> Response:
    """Show the look at one guest on shore."""
    return _look_page(front, group_id, guest_id)


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

    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}#shore-look",
        again=lambda problem: _look_page(front, group_id, guest_id, problem),
    )


@router.get("/water/{group_id}/skills/{guest_id}", name="skills_of")
def skills_of(front: Desk, group_id: int, guest_id: int) -> Response:
    """Show the skills of one guest."""
    return _skills_page(front, group_id, guest_id)


@router.post("/water/{group_id}/skills/{guest_id}", name="sign_guest_skills")
def sign_guest_skills(front: Desk, posted: PostedForm, group_id: int, guest_id: int) -> Response:
    """Store what the instructor saw of one guest."""
    own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        marks = {}
        for key in SKILLS:
            seen = fields.choice(key, "what you saw", [mark.value for mark in Mark], needed=False)
            if seen:
                marks[guest_id, key] = Mark(seen)
        fields.done()
        getting_ready.sign_skills(act, group_id, marks)

    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}#skills",
        again=lambda problem: _skills_page(front, group_id, guest_id, problem),
    )


def _kit_page(front: Front, group_id: int, member_id: int, problem: ProblemView | None = None) -> Response:
    found, one = _person(front, group_id, member_id=member_id)
    newest = {
        answer.item: answer
        for answer in found.facts.answers
        if answer.about == one.key and answer.on == found.view.slot.day
    }
    return _page(front, "kit_check", f"Kit check of {one.name}", found, one, problem, newest=newest)


def _look_page(front: Front, group_id: int, guest_id: int, problem: ProblemView | None = None) -> Response:
    found, one = _person(front, group_id, guest_id=guest_id)
    looks = {guest.id: guest.look for guest in found.facts.group.guests}
    return _page(front, "look", f"Look at {one.name}", found, one, problem, look=looks.get(one.key))


def _skills_page(front: Front, group_id: int, guest_id: int, problem: ProblemView | None = None) -> Response:
    found, one = _person(front, group_id, guest_id=guest_id)
    return _page(
        front,
        "skills",
        f"Skills of {one.name}",
        found,
        one,
        problem,
        skills=[SKILLS[key] for key in asked_skills(found)],
        seen=standing(one.key, found.facts.marks, found.view.slot.day),
        mark_words=MARKS,
    )


def _person(
    front: Front, group_id: int, member_id: int | None = None, guest_id: int | None = None
) -> tuple[Entry, DiverView]:
    """Return a group of the visitor's own and one of its people; raises NotHere for anybody else."""
    own(front, group_id)
    found = entry(front.session, front.house, group_id, front.now)
    for one in found.divers:
        if one.id == member_id or (guest_id is not None and one.member.guest_id == guest_id):
            return found, one
    raise NotHere(f"person of group {group_id}")


def _page(
    front: Front,
    name: str,
    title: str,
    found: Entry,
    one: DiverView,
    problem: ProblemView | None,
    **more: Any,
) -> Response:
    return front.page(
        f"water_side/{name}.html",
        title,
        problem=problem,
        one=one,
        kit_items=briefing.KIT_CHECK,
        points=list(POINTS.values()),
        revised=briefing.REVISED,
        **more,
        **common(front, found.view, "Get ready"),
    )
