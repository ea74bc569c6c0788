"""Water side, one person before the water: kit check, look on shore, skills; each back to its place after."""

from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import shore_look
from app.actions.water_side import getting_ready
from app.records.groups.facts import staff_key
from app.records.store.problems import NotHere
from app.records.water_side.entry import DiverView, Entry, entry
from app.records.water_side.second_eyes import briefing_rows, people_near, skill_rows
from app.rules import briefing
from app.rules.shore_look import POINTS
from app.rules.sign_off import SKILLS, Mark, standing, tries
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.water_side.pages import common, own
from app.web.water_side.ready import asked_skills, said, why_taken_back

router = APIRouter()
MARKS = ((Mark.SHOWN, "Shown"), (Mark.NEEDS_WORK, "Needs work"), (Mark.REFUSED, "Did not want to"))


@router.get("/water/{group_id}/kit-check/{member_id}", name="kit_check_of")
def kit_check_of(front: Desk, group_id: int, member_id: int) -> Response:
    """Show the kit check of one person."""
    return _kit_page(front, group_id, member_id)


@router.post("/water/{group_id}/kit-check/{member_id}", name="check_kit")
def check_kit(front: Desk, posted: PostedForm, group_id: int, member_id: int) -> Response:
    """Store the kit check of one person, and who looked as second."""
    found, one = _person(front, group_id, member_id=member_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        answers = {item.key: said(fields, item) for item in briefing.KIT_CHECK}
        second = fields.choice("second", "who looked as second", _seconds(front, found, one), needed=False)
        fields.done()
        told = {(member_id, key): answer for key, answer in answers.items() if answer}
        getting_ready.check_kit(act, group_id, told)
        if second:
            getting_ready.look_second(act, group_id, [member_id], second)

    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}#kit-check",
        again=lambda problem: _kit_page(front, group_id, member_id, problem),
    )


@router.post("/water/{group_id}/kit-check/{member_id}/undo", name="undo_kit_check")
def undo_kit_check(front: Desk, posted: PostedForm, group_id: int, member_id: int) -> Response:
    """Take back what was last sent of one person's kit check."""
    own(front, group_id)

    def undo(act: Act) -> None:
        getting_ready.take_back_answers(act, group_id, member_id, why_taken_back(posted))

    return front.do(
        posted,
        undo,
        then=lambda _: f"/water/{group_id}/kit-check/{member_id}",
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


@router.post("/water/{group_id}/skills/{guest_id}/undo", name="undo_skills")
def undo_skills(front: Desk, posted: PostedForm, group_id: int, guest_id: int) -> Response:
    """Take back what was last signed for one guest."""
    own(front, group_id)

    def undo(act: Act) -> None:
        getting_ready.take_back_marks(act, group_id, guest_id, why_taken_back(posted))

    return front.do(
        posted,
        undo,
        then=lambda _: f"/water/{group_id}/skills/{guest_id}",
        again=lambda problem: _skills_page(front, group_id, guest_id, problem),
    )


def _kit_page(front: Front, group_id: int, member_id: int, problem: ProblemView | None = None) -> Response:
    found, one = _person(front, group_id, member_id=member_id)
    rows = [row for row in briefing_rows(front.session, group_id) if row.about == one.key]
    second = briefing.second_look(found.facts.answers, found.view.slot.day, one.key)
    return _page(
        front,
        "kit_check",
        f"Kit check of {one.name}",
        found,
        one,
        problem,
        newest=briefing.standing_checks(found.facts.answers, found.view.slot.day, one.key),
        second="" if second is None else second.value,
        near=people_near(front.session, found.view),
        seconds=[("", "Nobody yet"), *_seconds(front, found, one).items()],
        last=rows[-1] if rows else None,
    )


def _look_page(front: Front, group_id: int, guest_id: int, problem: ProblemView | None = None) -> Response:
    found, one = _person(front, group_id, guest_id=guest_id)
    looks = {guest.id: guest.look for guest in found.facts.group.guests}
    return _page(front, "look", f"Look at {one.name}", found, one, problem, look=looks.get(one.key))


def _skills_page(front: Front, group_id: int, guest_id: int, problem: ProblemView | None = None) -> Response:
    found, one = _person(front, group_id, guest_id=guest_id)
    rows = skill_rows(front.session, guest_id, group_id)
    return _page(
        front,
        "skills",
        f"Skills of {one.name}",
        found,
        one,
        problem,
        skills=[SKILLS[key] for key in asked_skills(found)],
        seen=standing(one.key, found.facts.marks, found.view.slot.day),
        tries=tries((row.skill, bool(row.correction)) for row in rows),
        seen_by={row.skill: row for row in rows if not row.correction},
        last=rows[-1] if rows else None,
        mark_words=MARKS,
    )


def _seconds(front: Front, found: Entry, one: DiverView) -> dict[str, str]:
    """Return who may be the second pair of eyes for this person's kit, by key.

    Who wears it and who checked it are left out; until it is checked, whoever has the page open checks it.
    """
    checks = briefing.standing_checks(found.facts.answers, found.view.slot.day, one.key)
    whole = len(checks) == len(briefing.KIT_CHECK)
    first = {answer.by_key for answer in checks.values()} if whole else {staff_key(front.visitor.person_id)}
    near = people_near(front.session, found.view)
    return {key: name for key, name in near.items() if key != one.key and key not in first}


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
