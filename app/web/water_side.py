"""Water side: one group on a phone, from getting ready to wrapping up."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions import coming_out, dive_end, getting_ready, going_in
from app.actions.act import Act
from app.actions.cylinders import take_back_cylinder
from app.records.counts import counts_of, events_of, missing_of, missing_rows, rounds_of
from app.records.entry import Entry, entry
from app.records.groups import GroupView, group_view, groups_of
from app.records.problems import NotHere
from app.records.water import newest_events
from app.rules import briefing, limits, roll_call
from app.rules.head_count import CountState, count_state, everyone_back
from app.rules.readiness import may_enter_water
from app.rules.sign_off import SKILLS, Mark, standing
from app.web.access import INSTRUCTOR, LEAD
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm

router = APIRouter()
MARKS = ((Mark.SHOWN, "Shown"), (Mark.NEEDS_WORK, "Needs work"), (Mark.REFUSED, "Did not want to"))


@router.get("/water", name="water_groups")
def water_groups(front: Desk) -> Response:
    """Show today's groups of this instructor; the lead sees all."""
    mine = [view for view in groups_of(front.session, front.today) if _may_run(front, view)]
    return front.page("water_side/groups.html", "Water side", views=mine)


@router.get("/water/{group_id}", name="get_ready")
def get_ready(front: Desk, group_id: int) -> Response:
    """Show what is left before going in."""
    return _ready_page(front, group_id)


@router.post("/water/{group_id}/briefing", name="answer_briefing")
def answer_briefing(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store the answers of the briefing."""
    _own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        answers = {}
        for item in briefing.BRIEFING:
            said = (
                fields.choice(item.key, f"an answer: {item.words.lower()}", item.states, needed=False)
                if item.states
                else _figure(fields, item)
            )
            if said:
                answers[item.key] = said
        fields.done()
        getting_ready.answer_briefing(act, group_id, answers)

    return _stay(front, posted, group_id, store, "#kit-check")


@router.post("/water/{group_id}/kit-check", name="check_kit")
def check_kit(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store the kit check of one person."""
    view = _own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        member = int(fields.choice("member", "a person", [str(one.row.id) for one in view.members]) or 0)
        answers = {}
        for item in briefing.KIT_CHECK:
            said = fields.choice(item.key, f"an answer: {item.words.lower()}", item.states, needed=False)
            if said:
                answers[member, item.key] = said
        fields.done()
        getting_ready.check_kit(act, group_id, answers)

    return _stay(front, posted, group_id, store, "#kit-check")


@router.post("/water/{group_id}/skills", name="sign_skills")
def sign_skills(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store skills: the whole set for everybody, or one guest's marks."""
    view = _own(front, group_id)

    def store(act: Act) -> None:
        fields = posted.fields()
        everybody = fields.tick("everybody")
        marks: dict[tuple[int, str], Mark] = {}
        if everybody:
            for one in view.guests:
                marks.update(
                    {(one.row.guest_id or 0, key): Mark.SHOWN for key in _asked_skills(front, group_id)}
                )
        else:
            guest = int(
                fields.choice("guest", "a guest", [str(one.row.guest_id) for one in view.guests]) or 0
            )
            for key in SKILLS:
                said = fields.choice(key, "what you saw", [mark.value for mark in Mark], needed=False)
                if said:
                    marks[guest, key] = Mark(said)
        fields.done()
        getting_ready.sign_skills(act, group_id, marks)

    return _stay(front, posted, group_id, store, "#skills")


@router.post("/water/{group_id}/pressures", name="read_pressures")
def read_pressures(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store start pressures, pressures during the dive, or end pressures."""
    view = _own(front, group_id)
    steps = {"start": "", "during": "/back", "end": "/wrap"}
    moment = posted.values.get("moment", "")

    def store(act: Act) -> None:
        fields = posted.fields()
        chosen = fields.choice("moment", "start, during or end", getting_ready.MOMENTS)
        bars, corrections = {}, {}
        for one in view.members:
            bar = fields.number(f"bar_{one.row.id}", f"{one.name}'s pressure", 0, 1000, "bar", needed=False)
            why = fields.text(f"why_{one.row.id}", "why it is put right", most=200, needed=False)
            if bar is not None:
                bars[one.row.id or 0] = bar
                corrections[one.row.id or 0] = why
        fields.done()
        getting_ready.read_pressures(act, group_id, chosen, bars, corrections)

    pages: dict[str, Callable[[ProblemView], Response]] = {
        "start": lambda problem: _ready_page(front, group_id, problem),
        "during": lambda problem: _back_page(front, group_id, problem),
        "end": lambda problem: _wrap_page(front, group_id, problem),
    }
    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}{steps.get(moment, '')}#pressures",
        again=pages.get(moment, pages["start"]),
    )


@router.get("/water/{group_id}/out", name="going_out")
def going_out(front: Desk, group_id: int) -> Response:
    """Show the roll call out."""
    return _out_page(front, group_id)


@router.post("/water/{group_id}/out", name="go_in")
def go_in(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Send the group in, if every gate allows it."""
    view = _own(front, group_id)

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
        again=lambda problem: _out_page(front, group_id, problem),
    )


@router.get("/water/{group_id}/back", name="back_in")
def back_in(front: Desk, group_id: int) -> Response:
    """Show who is in the water and the roll call in."""
    return _back_page(front, group_id)


@router.post("/water/{group_id}/back/{member_id}", name="mark_back")
def mark_back(front: Desk, posted: PostedForm, group_id: int, member_id: int) -> Response:
    """Mark one person as back; never refused."""
    _belongs(front, group_id, member_id)

    def back(act: Act) -> None:
        coming_out.mark_back(act, member_id, act.now, posted.device_at)

    return _back(front, posted, group_id, back, f"#person-{member_id}")


@router.post("/water/{group_id}/still-in/{member_id}", name="still_in")
def still_in(front: Desk, posted: PostedForm, group_id: int, member_id: int) -> Response:
    """Put a wrong mark right: the person is still in the water."""
    _belongs(front, group_id, member_id)

    def undo(act: Act) -> None:
        coming_out.still_in(act, member_id, posted.values.get("why", "").strip()[:200] or "marked by mistake")

    return _back(front, posted, group_id, undo, f"#person-{member_id}")


@router.post("/water/{group_id}/count", name="count_heads")
def count_heads(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store a head count of those who came out, by whoever is signed in."""
    group_view(front.session, group_id)

    def count(act: Act) -> None:
        fields = posted.fields()
        counted = fields.whole("counted", "The number of people", 0, 99) or 0
        fields.done()
        coming_out.count_heads(act, group_id, counted)

    return front.do(
        posted,
        count,
        then=lambda _: f"/water/{group_id}/back#count",
        again=lambda problem: _back_page(front, group_id, problem),
    )


@router.post("/water/{group_id}/call-off", name="call_off")
def call_off(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """End the dive for good."""
    _own(front, group_id)

    def end(act: Act) -> None:
        coming_out.call_off(act, group_id, posted.values.get("why", "").strip()[:200] or "no reason said")

    return _back(front, posted, group_id, end, "")


@router.post("/water/{group_id}/missing", name="report_missing")
def report_missing(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Start the missing-person procedure; never refused."""
    view = group_view(front.session, group_id)

    def start(act: Act) -> None:
        said = posted.values.get("member", "")
        known = {str(one.row.id) for one in view.members}
        coming_out.report_missing(
            act,
            group_id,
            int(said) if said in known else None,
            posted.values.get("last_seen", "").strip()[:500],
        )

    return _back(front, posted, group_id, start, "#missing")


@router.post("/water/{group_id}/found/{missing_id}", name="report_found")
def report_found(front: Desk, posted: PostedForm, group_id: int, missing_id: int) -> Response:
    """End a missing-person procedure with who and where."""
    view = group_view(front.session, group_id)
    if missing_id not in {row.id for row in missing_rows(front.session, group_id)}:
        raise NotHere(f"missing {missing_id}")

    def found(act: Act) -> None:
        said = posted.values.get("member", "")
        known = {str(one.row.id) for one in view.members}
        where = posted.values.get("where", "").strip()[:200]
        coming_out.report_found(act, missing_id, int(said) if said in known else None, where)

    return _back(front, posted, group_id, found, "#missing")


@router.get("/water/{group_id}/wrap", name="wrap_up")
def wrap_up(front: Desk, group_id: int) -> Response:
    """Show what is left to write down."""
    return _wrap_page(front, group_id)


@router.post("/water/{group_id}/dive", name="write_dive")
def write_dive(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store what the dive was like."""
    _own(front, group_id)

    def write(act: Act) -> None:
        fields = posted.fields()
        depth = fields.number("depth", "The greatest depth", 0, 60, "m")
        ascent = fields.choice("ascent", "how fast the way up was", ("slower", "faster"))
        stop = fields.choice("stop", "whether the stop was done", ("yes", "no"))
        nothing = fields.choice("anything", "whether anything happened", ("nothing", "something"))
        happened = fields.note("happened", "what happened", needed=nothing == "something")
        fields.done()
        dive_end.write_dive(
            act,
            group_id,
            posted.edits,
            depth,
            ascent,
            stop == "yes",
            happened if nothing == "something" else "nothing",
        )

    return front.do(
        posted,
        write,
        then=lambda _: f"/water/{group_id}/wrap#close",
        again=lambda problem: _wrap_page(front, group_id, problem),
    )


@router.post("/water/{group_id}/close", name="close_dive")
def close_dive(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Close the dive when everything is answered."""
    _own(front, group_id)

    def close(act: Act) -> None:
        posted.fields().done()
        dive_end.close_dive(act, group_id)

    return front.do(
        posted,
        close,
        then=lambda _: f"/water/{group_id}/wrap",
        again=lambda problem: _wrap_page(front, group_id, problem),
    )


@router.post("/water/{group_id}/cylinders-back", name="cylinders_back")
def cylinders_back(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Take the whole group's cylinders back into the gas room."""
    _own(front, group_id)

    def take(act: Act) -> None:
        posted.fields().done()
        for one in entry(act.session, act.house, group_id, act.now).divers:
            if one.out is not None and one.out.back_at is None:
                take_back_cylinder(act, one.out.id or 0)
        act.about = ("dive_group", str(group_id))

    return front.do(
        posted,
        take,
        then=lambda _: f"/water/{group_id}/wrap",
        again=lambda problem: _wrap_page(front, group_id, problem),
    )


def _may_run(front: Front, view: GroupView) -> bool:
    if front.visitor.has(LEAD):
        return True
    team = [one.row.person_id for one in (view.guide, view.assistant) if one is not None]
    return front.visitor.has(INSTRUCTOR) and front.visitor.person_id in team


def _own(front: Front, group_id: int) -> GroupView:
    """Return a group this visitor runs; raises NotHere for any other."""
    view = group_view(front.session, group_id)
    if not _may_run(front, view):
        raise NotHere(f"group {group_id}")
    return view


def _belongs(front: Front, group_id: int, member_id: int) -> None:
    group_view(front.session, group_id)
    events = newest_events(front.session, [group_id])
    members = {one.row.id for one in group_view(front.session, group_id).members}
    if member_id not in members and member_id not in events:
        raise NotHere(f"member {member_id}")


def _stay(front: Front, posted: Posted, group_id: int, store: Callable[[Act], None], place: str) -> Response:
    return front.do(
        posted,
        store,
        then=lambda _: f"/water/{group_id}{place}",
        again=lambda problem: _ready_page(front, group_id, problem),
    )


def _back(front: Front, posted: Posted, group_id: int, act: Callable[[Act], None], place: str) -> Response:
    return front.do(
        posted,
        act,
        then=lambda _: f"/water/{group_id}/back{place}",
        again=lambda problem: _back_page(front, group_id, problem),
    )


def _figure(fields: Fields, item: briefing.Item) -> str:
    unit = "" if item.limit is None else item.limit.unit
    value = fields.number(item.key, item.words, 0, 400, unit, needed=False)
    return "" if value is None else f"{value:g}"


def _time_told(front: Front, fields: Fields) -> datetime:
    """Return the time in: the typed clock time of today, or now when the box is left empty."""
    said = fields.clock("time", "the time in", needed=False)
    if not said:
        return front.now
    hours, minutes = (int(part) for part in said.split(":"))
    local = front.now.astimezone(front.shop.zone)
    told = local.replace(hour=hours, minute=minutes, second=0, microsecond=0)
    if not front.now - timedelta(hours=2) <= told <= front.now + timedelta(minutes=10):
        fields.wrong("time", "The time in must be within the last two hours. Leave it empty for now.")
    return told


def _asked_skills(front: Front, group_id: int) -> tuple[str, ...]:
    asked = entry(front.session, front.house, group_id, front.now).limits[limits.SKILLS_REQUIRED_SET].names
    return asked or tuple(SKILLS)


def _common(front: Front, found: Entry, current: str) -> dict[str, Any]:
    base = f"/water/{found.view.id}"
    return {
        "view": found.view,
        "divers": found.divers,
        "plan": found.plan,
        "limits": found.limits,
        "steps_now": current,
        "steps_all": [
            ("Get ready", base),
            ("Going out", f"{base}/out"),
            ("Back in", f"{base}/back"),
            ("Wrap up", f"{base}/wrap"),
        ],
        "mine": _may_run(front, found.view),
    }


def _ready_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    _own(front, group_id)
    found = entry(front.session, front.house, group_id, front.now)
    facts, view = found.facts, found.view
    newest = {(answer.about, answer.item): answer for answer in facts.answers}
    marks = {one.key: standing(one.key, facts.marks, view.slot.day) for one in found.divers}
    asked = found.limits[limits.SKILLS_REQUIRED_SET].names or ()
    return front.page(
        "water_side/ready.html",
        f"Get ready: group {view.group.name}",
        problem=problem,
        decision=may_enter_water(facts, found.limits, front.now),
        briefing_items=[
            (item, newest.get(("", item.key)), _needed(item, found)) for item in briefing.BRIEFING
        ],
        kit_items=briefing.KIT_CHECK,
        newest=newest,
        revised=briefing.REVISED,
        skills=[SKILLS[key] for key in asked if key in SKILLS],
        marks=marks,
        mark_words=MARKS,
        **_common(front, found, "Get ready"),
    )


def _needed(item: briefing.Item, found: Entry) -> float | None:
    return None if item.limit is None else found.limits[item.limit].number


def _out_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    _own(front, group_id)
    found = entry(front.session, front.house, group_id, front.now)
    return front.page(
        "water_side/out.html",
        f"Going out: group {found.view.group.name}",
        problem=problem,
        decision=may_enter_water(found.facts, found.limits, front.now),
        **_common(front, found, "Going out"),
    )


def _back_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    found = entry(front.session, front.house, group_id, front.now)
    view = found.view
    events = events_of(front.session, group_id)
    rounds = rounds_of(counts_of(front.session, group_id))
    missing = missing_of(front.session, group_id)
    went = roll_call.entered(events)
    people = {one.key: one.name for one in found.divers}
    newest = roll_call.newest(events)
    order = {"in": 0, "back": 1, "never-entered": 2}
    rows = sorted(
        found.divers, key=lambda one: order.get(newest[one.key].event if one.key in newest else "", 3)
    )
    return front.page(
        "water_side/back.html",
        f"Back in: group {view.group.name}",
        problem=problem,
        rows=rows,
        pairs=[(one.member.id, one.name) for one in found.divers],
        newest=newest,
        in_count=len(roll_call.in_water(events)),
        everyone=everyone_back(people, events, rounds, missing, found.limits),
        state=count_state(rounds, len(went), missing, found.limits),
        states=CountState,
        counted_by_me=bool(rounds and any(one.counter == front.visitor.name for one in rounds[-1].results)),
        results_in_round=len(rounds[-1].results) if rounds else 0,
        missing_rows=missing_rows(front.session, group_id),
        lateness=roll_call.lateness(view.group.due_at, front.now, found.limits) if view.anybody_in else "",
        **_common(front, found, "Back in"),
    )


def _wrap_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    _own(front, group_id)
    found = entry(front.session, front.house, group_id, front.now)
    went = roll_call.entered(events_of(front.session, group_id))
    return front.page(
        "water_side/wrap.html",
        f"Wrap up: group {found.view.group.name}",
        problem=problem,
        went=went,
        rate=found.limits[limits.ASCENT_RATE_MAX].number,
        stop=found.limits[limits.SAFETY_STOP_MINUTES].number,
        stop_depth=found.limits[limits.SAFETY_STOP_DEPTH].number,
        **_common(front, found, "Wrap up"),
    )
