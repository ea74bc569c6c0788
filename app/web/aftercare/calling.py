"""A guest who said yes on coming out: whom to call, with the times at hand, and what was done."""

from datetime import datetime

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.guest_side import aftercare as acts
from app.records.groups.groups import GroupView
from app.records.guest_side.aftercare import CheckView, GuestAfter, answers_of, check_of, done_of, guest_after
from app.records.health.health_reads import guided_by
from app.rules.aftercare import CALL_STEPS, DONE, QUESTIONS, YES
from app.rules.ages import age_on
from app.rules.health_access import may_look_in_emergency, may_see_reasons
from app.web.aftercare.pages import SHAPES, cared_for
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
# Stored in the open, so it holds no health word.
WHY_LOOK = {"care": "To look after the guest", "doctor": "A doctor or rescuer asks"}


@router.get("/exit-checks/{check_id}", name="call_flow")
def call_flow(front: Desk, check_id: int) -> Response:
    """Show whom to call for a guest, what to do meanwhile, and the times that a doctor asks for."""
    return _call_page(front, check_id)


@router.post("/exit-checks/{check_id}/answers", name="look_at_exit_check")
def look_at_exit_check(front: Desk, posted: PostedForm, check_id: int) -> Response:
    """Log a look, then show what the guest answered, once."""

    def look(act: Act) -> None:
        fields = posted.fields()
        why = fields.choice("why", "why you look", WHY_LOOK)
        fields.done()
        acts.look_at_exit_check(act, check_id, WHY_LOOK[why])

    return front.do(
        posted,
        look,
        then=lambda _: f"/exit-checks/{check_id}",
        again=lambda problem: _call_page(front, check_id, problem),
        show=lambda _: _answers_page(front, check_id),
    )


@router.post("/exit-checks/{check_id}/care", name="write_exit_care")
def write_exit_care(front: Desk, posted: PostedForm, check_id: int) -> Response:
    """Store what was done for the guest; the lead is then not asked any more."""
    _check(front, check_id)

    def write(act: Act) -> None:
        fields = posted.fields()
        done = fields.choice("done", "what was done", DONE)
        fields.done()
        acts.write_exit_care(act, check_id, done)

    return front.do(
        posted,
        write,
        then=lambda _: f"/exit-checks/{check_id}",
        again=lambda problem: _call_page(front, check_id, problem),
    )


def _call_page(front: Front, check_id: int, problem: ProblemView | None = None) -> Response:
    check, view, one = _check(front, check_id)
    roles, is_today = front.visitor.roles, view.slot.day == front.today
    return front.page(
        "aftercare/call.html",
        f"Look after {check.guest.call_name}",
        problem=problem,
        check=check,
        view=view,
        one=one,
        age=age_on(check.guest.birth_date, view.slot.day),
        minutes=_minutes(one.times.went, one.times.back),
        steps=CALL_STEPS,
        shapes=SHAPES,
        done_words=list(DONE.items()),
        why_look=list(WHY_LOOK.items()),
        may_see=may_see_reasons(roles, own_group=_guides(front, check, view), is_today=is_today),
        may_emergency=may_look_in_emergency(roles, (front.today - view.slot.day).days),
    )


def _answers_page(front: Front, check_id: int) -> Response:
    """Show the answers; the look at them has been logged."""
    check, view, _ = _check(front, check_id)
    answers = answers_of(front.house, check)
    return front.page(
        "aftercare/answers.html",
        f"What {check.guest.call_name} said",
        check=check,
        view=view,
        lines=[
            (one.words, {YES: "yes", "no": "no"}.get(answers.get(one.code, ""), "not asked"))
            for one in QUESTIONS
        ],
        readable=bool(answers),
        done=DONE.get(done_of(front.house, check), ""),
    )


def _check(front: Front, check_id: int) -> tuple[CheckView, GroupView, GuestAfter]:
    """Return an exit check of a group that this visitor looks after; raises NotHere."""
    check = check_of(front.session, front.house, check_id)
    view = cared_for(front, check.row.group_id)
    one = guest_after(front.session, front.house, view, check.row.guest_id, front.now)
    return check, view, one


def _guides(front: Front, check: CheckView, view: GroupView) -> bool:
    return guided_by(front.session, front.visitor.person_id, check.row.guest_id, view.slot.day)


def _minutes(went: datetime, back: datetime | None) -> float | None:
    return None if back is None else (back - went).total_seconds() / 60
