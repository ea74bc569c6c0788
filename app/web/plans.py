"""The plan of a group: as it comes out now, issued and frozen, and as a slate to take along."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions import groups as group_actions
from app.actions.act import Act
from app.actions.plans import issue_plan as issue
from app.records import plans as plan_records
from app.records.emergency_kit import oxygen_at_hand
from app.records.groups import GroupView, group_view, leads
from app.records.plans import Draft, PlanView
from app.records.problems import NotHere
from app.records.tables.groups import GroupRow, PlanRow
from app.web.access import INSTRUCTOR, LEAD
from app.web.front import Desk, Front
from app.web.groups import DEEPEST_M, LONGEST_MIN
from app.web.guide_day import group_days
from app.web.pages import ProblemView
from app.web.plan_sheet import PlanSheet, sheet_of
from app.web.posted import PostedForm

router = APIRouter()


@router.get("/groups/{group_id}/plan", name="group_plan")
def group_plan(front: Desk, group_id: int) -> Response:
    """Show the plan as it comes out now, and which one is issued."""
    return _plan_page(front, group_id)


@router.post("/groups/{group_id}/plan/dive", name="change_dive")
def change_dive(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Change how deep and how long the group plans to dive."""
    _own(front, group_view(front.session, group_id))

    def change(act: Act) -> GroupRow:
        fields = posted.fields()
        depth = fields.required_number("depth_m", "Depth", 1, DEEPEST_M, "m")
        minutes = fields.required_number("minutes", "Minutes", 5, LONGEST_MIN, "min")
        fields.done()
        return group_actions.change_dive(act, group_id, posted.edits, depth, minutes)

    return front.do(
        posted,
        change,
        then=lambda _: f"/groups/{group_id}/plan",
        again=lambda problem: _plan_page(front, group_id, problem),
    )


@router.post("/groups/{group_id}/plan", name="issue_plan")
def issue_plan(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Issue the plan."""
    _own(front, group_view(front.session, group_id))

    def give(act: Act) -> PlanRow:
        fields = posted.fields()
        seen = fields.text("seen", "which plan you saw", most=64)
        acknowledged = fields.tick("acknowledged")
        fields.done()
        return issue(act, group_id, seen, acknowledged=acknowledged)

    return front.do(
        posted,
        give,
        then=lambda row: f"/plans/{row.number}",
        again=lambda problem: _plan_page(front, group_id, problem),
    )


@router.get("/plans/{number}", name="issued_plan")
def issued_plan(front: Desk, number: int) -> Response:
    """Show a plan as it was issued."""
    plan = plan_records.plan_numbered(front.session, front.house, number, front.now)
    return front.page(
        "plans/issued.html",
        f"Plan {number}, group {plan.about['group']}",
        plan=plan,
        sheet=_issued_sheet(plan),
        group=group_view(front.session, plan.row.group_id),
    )


@router.get("/groups/{group_id}/plan/slate", name="plan_slate")
def plan_slate(front: Desk, group_id: int) -> Response:
    """Show the newest issued plan as one page to print and take along."""
    view = group_view(front.session, group_id)
    plan = plan_records.current_plan(front.session, front.house, group_id, front.now)
    return front.page(
        "plans/slate.html",
        f"Slate, group {view.group.name}",
        view=view,
        plan=plan,
        sheet=None if plan is None else _issued_sheet(plan),
    )


def _plan_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    draft = plan_records.draft_plan(front.session, front.house, group_id, front.now)
    view = draft.basis.view
    return front.page(
        "plans/plan.html",
        f"Plan of group {view.group.name}",
        problem=problem,
        view=view,
        draft=draft,
        sheet=_draft_sheet(draft),
        issued=plan_records.current_plan(front.session, front.house, group_id, front.now),
        earlier=plan_records.plans_of(front.session, group_id)[1:],
        may_issue=_may_write(front, view) and view.may_change,
        is_guide=leads(view, front.visitor.person_id),
        oxygen=oxygen_at_hand(front.session, view.slot.day, draft.basis.limits),
        **group_days(front, view, draft.basis.limits),
    )


def _draft_sheet(draft: Draft) -> PlanSheet | None:
    if draft.case is None or draft.answer is None:
        return None
    return sheet_of(draft.about, draft.case, draft.answer, draft.limits)


def _issued_sheet(plan: PlanView) -> PlanSheet:
    return sheet_of(plan.about, plan.case, plan.answer, plan.limits)


def _may_write(front: Front, view: GroupView) -> bool:
    lead = front.visitor.has(LEAD) and view.slot.day == front.today
    own = front.visitor.has(INSTRUCTOR) and leads(view, front.visitor.person_id)
    return lead or own


def _own(front: Front, view: GroupView) -> None:
    if not _may_write(front, view):
        raise NotHere(f"group {view.id} is not this person's")
