"""The plan of a group: as it comes out now, issued and frozen, and as a slate to take along."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.groups import groups as group_actions
from app.actions.groups.plans import issue_plan as issue
from app.records.groups.groups import GroupView, group_view, leads
from app.records.plans import plans as plan_records
from app.records.plans.plans import Draft, PlanView
from app.records.store.problems import NotHere
from app.records.tables.groups import GroupRow, PlanRow
from app.records.water_side.emergency_kit import oxygen_at_hand
from app.web.access import INSTRUCTOR, LEAD
from app.web.figures import Figures
from app.web.front import Desk, Front
from app.web.groups.groups import DEEPEST_M, LONGEST_MIN
from app.web.groups.guide_day import group_days
from app.web.pages import ProblemView
from app.web.plans.changes import Change, changes
from app.web.plans.sheet import PlanSheet, sheet_of
from app.web.posted import PostedForm
from app.web.printing import printed

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
    sheet = _issued_sheet(front, plan)
    others = [one for one in plan_records.plans_of(front.session, plan.row.group_id) if one.number != number]
    return front.page(
        "plans/issued.html",
        f"Plan {number}, group {plan.about['group']}",
        plan=plan,
        sheet=sheet,
        group=group_view(front.session, plan.row.group_id),
        newer=max((one.number for one in others if one.number > number), default=None),
        changes=() if plan.up_to_date else _changes(front, sheet, _draft_of(front, plan.row.group_id)),
        others=others,
        others_title="Other plans of this group",
    )


@router.get("/plans/{number}/working", name="issued_working")
def issued_working(front: Desk, number: int) -> Response:
    """Show how the figures of an issued plan came about."""
    plan = plan_records.plan_numbered(front.session, front.house, number, front.now)
    title = f"Working of plan {number}, group {plan.about['group']}"
    return _working_page(front, title, _issued_sheet(front, plan), f"/plans/{number}", number)


@router.get("/groups/{group_id}/plan/working", name="plan_working")
def plan_working(front: Desk, group_id: int) -> Response:
    """Show how the figures of the plan as it comes out now came about."""
    draft = plan_records.draft_plan(front.session, front.house, group_id, front.now)
    title = f"Working of the plan of group {draft.basis.view.group.name}"
    return _working_page(front, title, _draft_sheet(front, draft), f"/groups/{group_id}/plan", None)


@router.get("/groups/{group_id}/plan/slate", name="plan_slate")
def plan_slate(front: Desk, group_id: int) -> Response:
    """Show the newest issued plan as one page to print and take along."""
    view = group_view(front.session, group_id)
    plan = plan_records.current_plan(front.session, front.house, group_id, front.now)
    return printed(
        front,
        "plans/slate.html",
        f"Slate, group {view.group.name}",
        name=f"slate-group-{group_id}",
        view=view,
        plan=plan,
        sheet=None if plan is None else _issued_sheet(front, plan),
    )


def _working_page(
    front: Front, title: str, sheet: PlanSheet | None, back: str, number: int | None
) -> Response:
    """Show the working of who was asked for, else of who turns first."""
    asked = front.request.query_params.get("who", "" if sheet is None else sheet.answer["first_to_turn"])
    keys = [] if sheet is None else [key for key, _, _ in sheet.working]
    who = asked if asked in keys else ""
    return front.page("plans/working.html", title, sheet=sheet, back=back, number=number, who=who)


def _plan_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    draft = plan_records.draft_plan(front.session, front.house, group_id, front.now)
    view, sheet = draft.basis.view, _draft_sheet(front, draft)
    issued = plan_records.current_plan(front.session, front.house, group_id, front.now)
    stale = issued is not None and not issued.up_to_date
    return front.page(
        "plans/plan.html",
        f"Plan of group {view.group.name}",
        problem=problem,
        view=view,
        draft=draft,
        sheet=sheet,
        issued=issued,
        changes=_changes(front, _issued_sheet(front, issued), sheet) if issued and stale else (),
        others=plan_records.plans_of(front.session, group_id)[1:],
        others_title="Earlier plans of this group",
        may_issue=_may_write(front, view) and view.may_change,
        is_guide=leads(view, front.visitor.person_id),
        oxygen=oxygen_at_hand(front.session, view.slot.day, draft.basis.limits),
        **group_days(front, view, draft.basis.limits),
    )


def _draft_of(front: Front, group_id: int) -> PlanSheet | None:
    return _draft_sheet(front, plan_records.draft_plan(front.session, front.house, group_id, front.now))


def _draft_sheet(front: Front, draft: Draft) -> PlanSheet | None:
    if draft.case is None or draft.answer is None:
        return None
    return sheet_of(draft.about, draft.case, draft.answer, draft.limits, front.visitor.units)


def _issued_sheet(front: Front, plan: PlanView) -> PlanSheet:
    return sheet_of(plan.about, plan.case, plan.answer, plan.limits, front.visitor.units)


def _changes(front: Front, was: PlanSheet, now: PlanSheet | None) -> tuple[Change, ...]:
    """Return which figures of an issued plan come out otherwise now; none while there is no plan to hold."""
    return () if now is None else changes(was, now, Figures(front.visitor.units))


def _may_write(front: Front, view: GroupView) -> bool:
    lead = front.visitor.has(LEAD) and view.slot.day == front.today
    own = front.visitor.has(INSTRUCTOR) and leads(view, front.visitor.person_id)
    return lead or own


def _own(front: Front, view: GroupView) -> None:
    if not _may_write(front, view):
        raise NotHere(f"group {view.id} is not this person's")
