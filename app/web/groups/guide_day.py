"""Guides' days: dives, minutes and what is left, for sharing the work; dives elsewhere, asked once a day."""

import re
from datetime import timedelta
from math import floor
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.groups import other_dives as acts
from app.planning.dive_day import Budget
from app.records.groups.groups import GroupView
from app.records.plans.dive_history import DIVED
from app.records.setup.shop import limits_now
from app.records.store.problems import NotHere
from app.records.tables.people import PersonRow
from app.records.today.guide_day import (
    NextDive,
    day_of_planned,
    divers,
    guide_days,
    next_dive_of,
    sea_of,
    usual_dive,
)
from app.records.welcome.bookings import SlotView
from app.rules import limits
from app.rules.resolve import Limits
from app.web.access import INSTRUCTOR, LEAD, MANAGER
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView, instant_of
from app.web.posted import PostedForm

router = APIRouter()
# Own dives go deeper than try dives; deeper than this is a slip of the pen, on air.
DEEPEST_M, LONGEST_MIN = 60.0, 300.0
TODAY, YESTERDAY, BEFORE = "today", "yesterday", "before"
DAYS = ((TODAY, "Today"), (YESTERDAY, "Yesterday"), (BEFORE, "The day before"))
BACK = re.compile(r"(plan|water)-(\d{1,9})")


@router.get("/groups/guides", name="guides_today")
def guides_today(front: Desk) -> Response:
    """Show each instructor's day, those with the fewest minutes first."""
    dive, depth = usual_dive(front.session, front.now)
    days = guide_days(front.session, divers(front.session), dive, front.now, limits_now(front.session))
    return front.page(
        "groups/guides.html",
        "Guides today",
        days=sorted(days, key=lambda one: (one.minutes_today, one.person.name)),
        usual=dive,
        depth_rule=depth,
        ahead=day_of_planned(front.session, front.today),
        **guide_words(front),
    )


@router.get("/groups/guides/{person_id}", name="guide_day")
def guide_day(front: Desk, person_id: int) -> Response:
    """Show one person's dives of the last two days, and ask for others."""
    return _day_page(front, person_id)


@router.post("/groups/guides/{person_id}/none", name="say_no_other_dive")
def say_no_other_dive(front: Desk, posted: PostedForm, person_id: int) -> Response:
    """Write down that there was no other dive."""
    _diver(front, person_id)

    def say(act: Act) -> str:
        fields = posted.fields()
        back = _back(fields, person_id)
        fields.done()
        acts.say_no_other_dive(act, person_id)
        return back

    return front.do(posted, say, then=str, again=lambda problem: _day_page(front, person_id, problem))


@router.post("/groups/guides/{person_id}/dives", name="write_other_dive")
def write_other_dive(front: Desk, posted: PostedForm, person_id: int) -> Response:
    """Write a dive elsewhere down."""
    _diver(front, person_id)

    def write(act: Act) -> str:
        fields = posted.fields()
        back = _back(fields, person_id)
        day = fields.choice("day", "the day", [value for value, _ in DAYS])
        clock = fields.clock("went", "the time in")
        minutes = fields.required_number("minutes", "Minutes under water", 1, LONGEST_MIN, "min")
        depth = fields.required_number("depth_m", "The greatest depth", 1, DEEPEST_M, "m")
        fields.done()
        days_ago = [value for value, _ in DAYS].index(day)
        went = instant_of(front.today - timedelta(days=days_ago), clock, front.shop.zone)
        acts.write_other_dive(act, person_id, went, minutes, depth)
        return back

    return front.do(posted, write, then=str, again=lambda problem: _day_page(front, person_id, problem))


@router.post("/groups/guides/{person_id}/dives/{dive_id}/taken-back", name="take_back_other_dive")
def take_back_other_dive(front: Desk, posted: PostedForm, person_id: int, dive_id: int) -> Response:
    """Take a dive back that was written down wrongly."""
    _diver(front, person_id)

    def take_back(act: Act) -> None:
        fields = posted.fields()
        why = fields.text("why", "why it is taken back", most=200)
        fields.done()
        acts.take_back_other_dive(act, person_id, dive_id, why)

    return front.do(
        posted,
        take_back,
        then=lambda _: f"/groups/guides/{person_id}",
        again=lambda problem: _day_page(front, person_id, problem),
    )


def guide_words(front: Front) -> dict[str, Any]:
    """Return what every page with a guide's day is given to say it with."""
    binding = limits_now(front.session)
    return {
        "minutes_left": minutes_left,
        "table_left": table_left,
        "day_of": front.shop.day_of,
        "since": lambda instant: _since(front.now - instant),
        "factor": binding[limits.NITROGEN_GRADIENT_FACTOR],
        "may_write_dives": front.visitor.has(INSTRUCTOR, LEAD, MANAGER),
    }


def group_days(front: Front, view: GroupView, binding: Limits) -> dict[str, Any]:
    """Return the day of a group's guide and assistant, for its plan and its page."""
    team = [one.person for one in (view.guide, view.assistant) if one is not None and one.person is not None]
    dive = next_dive_of(front.session, view, front.now)
    return {
        "guide_days": guide_days(front.session, team, dive, front.now, binding),
        "guide_dive": dive,
        **guide_words(front),
    }


def slot_days(
    front: Front, slot: SlotView, depth_m: float, minutes: float, group_id: int | None = None
) -> dict[str, Any]:
    """Return everybody's day against a dive in a slot, for choosing who leads. group_id: whose dive it is."""
    begins = max(slot.slot.starts_at, front.now)
    sea = sea_of(front.session, slot.site, slot.slot.id)
    dive = NextDive(begins, depth_m, minutes, sea, group_id)
    binding = limits_now(front.session)
    return {
        "guide_days": guide_days(front.session, divers(front.session), dive, front.now, binding),
        "guide_dive": dive,
        **guide_words(front),
    }


def minutes_left(budget: Budget) -> str:
    """Say the no-stop minutes of ZH-L16C, rounded down; no figure is no limit at this depth."""
    return "no limit" if budget.zhl_min is None else f"{floor(budget.zhl_min)} min"


def table_left(budget: Budget) -> str:
    """Say the minutes of the navy table and its group when the dive begins."""
    if not budget.navy_knows:
        return "no figure after these dives"
    minutes = "no limit" if budget.navy_min is None else f"{floor(budget.navy_min)} min"
    return f"{minutes}, {f'group {budget.navy_group}' if budget.navy_group else 'not repetitive'}"


def _day_page(front: Front, person_id: int, problem: ProblemView | None = None) -> Response:
    person = _diver(front, person_id)
    dive, depth = usual_dive(front.session, front.now)
    one = guide_days(front.session, [person], dive, front.now, limits_now(front.session))[0]
    return front.page(
        "groups/guide.html",
        f"Dives of {one.person.name}",
        problem=problem,
        one=one,
        usual=dive,
        depth_rule=depth,
        days=DAYS,
        back=front.request.query_params.get("back", "")
        or (problem.values.get("back", "") if problem else ""),
        dived=DIVED,
        **guide_words(front),
    )


def _diver(front: Front, person_id: int) -> PersonRow:
    for person in divers(front.session):
        if person.id == person_id:
            return person
    raise NotHere(f"person {person_id} does not dive here")


def _back(fields: Fields, person_id: int) -> str:
    """Return where the page goes on: the plan or the group at the water that asked, else the day itself."""
    said = BACK.fullmatch(fields.text("back", "where to go on", needed=False))
    if said is None:
        return f"/groups/guides/{person_id}"
    where, group = said.groups()
    return f"/groups/{group}/plan#guide-day" if where == "plan" else f"/water/{group}"


def _since(span: timedelta) -> str:
    minutes = max(0, int(span.total_seconds() // 60))
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
