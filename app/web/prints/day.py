"""Prints of a day: which there are, group sheets, slates, roll call, kit to pick; and the shop's paper."""

from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.keep import prints as act_on
from app.records.keep.prints import GroupPrint, group_prints, kit_lists
from app.records.plans.plans import current_plans
from app.records.store import trail
from app.records.store.check import short_head
from app.records.store.problems import NotHere
from app.web.access import DESK, MANAGER
from app.web.front import FIRST_DAY, LAST_DAY, Desk, Front
from app.web.own_groups import may_run
from app.web.pages import ProblemView
from app.web.plans.sheet import sheet_of
from app.web.posted import PostedForm
from app.web.printing import PAPERS, paper_of, printed

router = APIRouter()


@router.get("/prints", name="prints")
def prints(front: Desk) -> Response:
    """Show every print of a day, who needs it, and where its PDF is."""
    return _page(front)


@router.post("/prints/paper", name="choose_paper")
def choose_paper(front: Desk, posted: PostedForm) -> Response:
    """Keep the paper on which the shop prints."""

    def keep(act: Act) -> None:
        fields = posted.fields()
        paper = fields.choice("paper", "A4 or Letter", list(PAPERS))
        fields.done()
        act_on.choose_paper(act, posted.edits, paper)

    return front.do(posted, keep, then=lambda _: "/prints", again=lambda problem: _page(front, problem))


@router.get("/prints/{day}/groups", name="group_sheets")
def group_sheets(front: Desk, day: date) -> Response:
    """Show one sheet for each group: people, cylinders, kit, and boxes to write in."""
    return _by_group(front, day, "prints/groups.html", "Group sheets", "group-sheets")


@router.get("/prints/{day}/roll-call", name="roll_call_sheets")
def roll_call_sheets(front: Desk, day: date) -> Response:
    """Show one sheet for each group on which everybody is answered for by name, out and in."""
    return _by_group(front, day, "prints/roll_call.html", "Roll call", "roll-call")


@router.get("/prints/{day}/slates", name="slates")
def slates(front: Desk, day: date) -> Response:
    """Show the slate of each group that has a plan, one on a page."""
    _some_day(day)
    plans = current_plans(front.session, front.house, day, front.now)
    asked = _group_asked(front)
    shown = [
        (plan, sheet_of(plan.about, plan.case, plan.answer, plan.limits, front.visitor.units))
        for number, plan in plans.items()
        if asked in (None, number)
    ]
    return _print(front, day, "prints/slates.html", "Slates", "slates", shown=shown)


@router.get("/prints/{day}/kit", name="kit_list")
def kit_list(front: Desk, day: date) -> Response:
    """Show what to pick off the rail, group by group and guest by guest."""
    _some_day(day)
    lists = kit_lists(front.session, day, front.now)
    return _print(front, day, "prints/kit.html", "Kit to pick", "kit-list", lists=lists)


def _by_group(front: Front, day: date, template: str, title: str, name: str) -> Response:
    _some_day(day)
    asked = _group_asked(front)
    sheets: list[GroupPrint] = [
        one for one in group_prints(front.session, front.house, day) if asked in (None, one.view.id)
    ]
    if asked is not None and not sheets:
        raise NotHere(f"group {asked} on {day}")
    return _print(
        front, day, template, title, name if asked is None else f"{name}-group-{asked}", sheets=sheets
    )


def _print(front: Front, day: date, template: str, title: str, name: str, **more: Any) -> Response:
    return printed(
        front,
        template,
        f"{title}, {day:%a} {day.day} {day:%b %Y}",
        name=f"{name}-{day.isoformat()}",
        day=day,
        head=short_head(*trail.head(front.session)),
        **more,
    )


def _group_asked(front: Front) -> int | None:
    """Return the group of ``?group=7``; None for all; raises NotHere for nonsense."""
    said = front.request.query_params.get("group")
    if said is None:
        return None
    if not said.isdecimal() or len(said) > 9:  # noqa: PLR2004 - digits of a row's number
        raise NotHere("no such group")
    return int(said)


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    day = front.day_asked()
    sheets = group_prints(front.session, front.house, day)
    everyone = front.visitor.has(DESK, MANAGER)
    return front.page(
        "prints/prints.html",
        f"Prints, {day:%a} {day.day} {day:%b}",
        problem=problem,
        day=day,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        sheets=sheets,
        cared_for={one.view.id for one in sheets if everyone or may_run(front, one.view)},
        paper=paper_of(front),
        papers=list(PAPERS.items()),
        may_set=front.visitor.has(MANAGER),
    )


def _some_day(day: date) -> None:
    """Raise NotHere for a day on which no shop was open."""
    if not FIRST_DAY <= day <= LAST_DAY:
        raise NotHere("no such day")
