"""The four pages of a group at the water, and whose group it is."""

import unicodedata
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from fastapi.responses import Response

from app.actions.water_side.coming_out import SENT_LATE
from app.records.groups.groups import GroupView, group_view
from app.records.keep.paper import sheets_of
from app.records.kit_rail.lead import LeadLine, lead_lines
from app.records.plans.plans import PlanView, current_plan
from app.records.setup.shop import limits_now
from app.records.store.problems import NotHere
from app.records.tables.water import WaterEventRow
from app.records.water_side.counts import events_of, missing_of, missing_rows, rounds_in
from app.records.water_side.entry import DiverView, divers_of, entry
from app.records.water_side.under_way import under_way
from app.records.water_side.water import dive_times, newest_events
from app.rules import limits, roll_call
from app.rules.dive_record import COMPUTERS
from app.rules.gas import next_reading_due, should_turn
from app.rules.head_count import CountState, Round, count_state, counts_agree, everyone_back, is_mismatch
from app.rules.readiness import may_enter_water
from app.rules.resolve import Limits
from app.web.fields import DIRECTION, NOTE_MOST
from app.web.front import Front
from app.web.own_groups import may_run
from app.web.pages import ProblemView
from app.web.posted import Posted
from app.web.welcome.flights import flying_context

# The gauge's own end; what a limit says of a pressure is asked when it is stored.
HIGHEST_BAR = float(str(limits.GAUGE_HIGHEST.value))


def own(front: Front, group_id: int) -> GroupView:
    """Return a group that this visitor runs; raises NotHere for any other."""
    view = group_view(front.session, group_id)
    if not may_run(front, view):
        raise NotHere(f"group {group_id}")
    return view


def belongs(front: Front, group_id: int, member_id: int) -> None:
    """Raise NotHere unless a member is, or ever was at the water, of this group."""
    view = group_view(front.session, group_id)
    known = {one.row.id for one in view.members} | set(newest_events(front.session, [group_id]))
    if member_id not in known:
        raise NotHere(f"member {member_id}")


def words_sent(posted: Posted, name: str) -> str:
    """Return a text of a form that is never refused: hidden characters are left out, the rest is kept."""
    text = unicodedata.normalize("NFC", posted.values.get(name, ""))
    shown = "".join(
        letter
        for letter in text
        if letter == "\n"
        or (unicodedata.category(letter) not in ("Cc", "Cs") and ord(letter) not in DIRECTION)
    )
    return shown.strip()[:NOTE_MOST]


def member_sent(posted: Posted, view: GroupView) -> int | None:
    """Return the member chosen in a form that is never refused; None for nobody."""
    said = posted.values.get("member", "")
    return int(said) if said in {str(one.row.id) for one in view.members} else None


def phone_said(events: Mapping[int, WaterEventRow]) -> dict[int, datetime]:
    """Return, by member, what a phone's own clock said of a mark that arrived at another time than that."""
    return {
        member: row.device_at for member, row in events.items() if row.device_at and SENT_LATE in row.flag
    }


def out_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    """Roll call out: each person by name, then the heads."""
    own(front, group_id)
    found = entry(front.session, front.house, group_id, front.now)
    return front.page(
        "water_side/out.html",
        f"Going out: group {found.view.group.name}",
        problem=problem,
        decision=may_enter_water(found.facts, found.limits, front.now),
        divers=found.divers,
        **common(front, found.view, "Going out"),
    )


def back_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    """Roll call in: who is still in the water, the head counts, the missing-person procedure.

    No gate is asked here: whatever is wrong with a group, it comes out.
    """
    session, view = front.session, group_view(front.session, group_id)
    divers, binding = divers_of(session, view.members), limits_now(session)
    events, rounds, missing = (
        events_of(session, group_id),
        rounds_in(session, group_id),
        missing_of(session, group_id),
    )
    newest = roll_call.newest(events)
    order = {"in": 0, "back": 1, "never-entered": 2}
    went = roll_call.entered(events)
    state = count_state(rounds, len(went), missing, binding)
    last = rounds[-1] if rounds else None
    in_now = roll_call.in_water(events)
    plan = plan_of_dive(front, view)
    turn_bar = _turn_bar(plan, binding)
    gauges = [(one.during.bar, one.name) for one in divers if one.key in in_now and one.during]
    lowest = min(gauges, default=None)
    return front.page(
        "water_side/back.html",
        f"Back in: group {view.group.name}",
        problem=problem,
        rows=sorted(divers, key=lambda one: order.get(newest[one.key].event if one.key in newest else "", 3)),
        names={one.id: one.name for one in divers},
        newest=newest,
        phone_said=phone_said(newest_events(session, [group_id])),
        in_count=len(in_now),
        everyone=everyone_back({one.key: one.name for one in divers}, events, rounds, missing, binding),
        count_said=_count_said(state, last, agreed=counts_agree(last, len(went), binding).allowed),
        missing_rows=missing_rows(session, group_id),
        lateness=roll_call.lateness(view.group.due_at, front.now, binding) if view.anybody_in else "",
        turn_bar=turn_bar,
        turn_now=lowest if lowest and should_turn(lowest[0], turn_bar) else None,
        next_look=_next_look(view, divers, binding),
        below=[]
        if plan is None
        else under_way(plan, divers, dive_times(session, [one.id for one in divers]), front.now),
        soon_min=binding[limits.PRESSURE_CHECK_INTERVAL].number or 0,
        **common(front, view, "Back in"),
    )


def wrap_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    """Wrapping up: end pressures, times, what the dive was like, closing it, cylinders back."""
    view = own(front, group_id)
    divers = divers_of(front.session, view.members)
    went = roll_call.entered(events_of(front.session, group_id))
    times = dive_times(front.session, [one.id for one in divers])
    return front.page(
        "water_side/wrap.html",
        f"Wrap up: group {view.group.name}",
        problem=problem,
        computers=list(COMPUTERS.items()),
        divers=divers,
        lead=lead_of(front, view),
        went=[one for one in divers if one.key in went],
        times=times,
        back_ids=[number for number, told in times.items() if told.back is not None],
        rate=limits_now(front.session)[limits.ASCENT_RATE_MAX].number,
        stop=stop_of(plan_of_dive(front, view)),
        guests_of={one.row.id: one.guest for one in view.guests},
        **flying_context(front, [one.guest for one in view.guests if one.guest], view.slot.day),
        **common(front, view, "Wrap up"),
    )


def lead_of(front: Front, view: GroupView) -> dict[int, LeadLine]:
    """Return the lead of each guest of a group, by guest number."""
    guests = [one.guest.id or 0 for one in view.guests if one.guest is not None]
    return lead_lines(front.session, guests, view.slot.id or 0)


def plan_of_dive(front: Front, view: GroupView) -> PlanView | None:
    """Return the plan under which a group went in; None before it did, and without one."""
    if view.group.entered_at is None:
        return None
    return current_plan(front.session, front.house, view.id, front.now)


def stop_of(plan: PlanView | None) -> tuple[float, float] | None:
    """Return minutes and depth in m of the stop that a plan has; None when it has none."""
    if plan is None or not plan.case["stop_min"]:
        return None
    return float(plan.case["stop_min"]), float(plan.case["stop_m"])


def _turn_bar(plan: PlanView | None, binding: Limits) -> float | None:
    return binding[limits.TURN_PRESSURE].number if plan is None else float(plan.case["turn_bar"])


def _next_look(view: GroupView, divers: Iterable[DiverView], binding: Limits) -> datetime | None:
    """Return when the gauges are looked at again; None while nobody is in the water."""
    if view.group.entered_at is None or not view.anybody_in:
        return None
    looks = [one.during.at for one in divers if one.during is not None]
    return next_reading_due(max([view.group.entered_at, *looks]), binding)


def common(front: Front, view: GroupView, current: str) -> dict[str, Any]:
    """Return what every page of a group at the water is given; current: its step."""
    base = f"/water/{view.id}"
    steps = [
        ("Get ready", base),
        ("Going out", f"{base}/out"),
        ("Back in", f"{base}/back"),
        ("Wrap up", f"{base}/wrap"),
    ]
    mine = may_run(front, view)
    # Who only counts is led nowhere else.
    shown = steps if mine else [label for label, _ in steps]
    papers = sheets_of(front.session, view.id)
    return {"view": view, "mine": mine, "steps_now": current, "steps_all": shown, "papers": papers}


def _count_said(state: CountState, last: Round | None, *, agreed: bool) -> tuple[str, str]:
    """Say where the count stands, with its shape. No number: the next counter must not have seen it."""
    if state is CountState.MISSING:
        return "The missing-person procedure runs", "triangle"
    if last is not None and is_mismatch(last):
        return "The counts do not agree. Count everyone again", "triangle"
    if agreed:
        return "Both counts agree", "dot"
    if last is not None and any(one.method == "heads" for one in last.results):
        return "One head count is in. Mark every name, or let another person count", "ring"
    return "Not counted yet", "ring"
