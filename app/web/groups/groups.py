"""Who goes with whom: groups of each slot, their staff, and the water as it was found."""

from collections.abc import Collection
from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.groups import groups as group_actions
from app.actions.groups.groups import GroupForm
from app.records.groups import groups as groups_records
from app.records.groups.arranging import day_board, slot_board
from app.records.groups.facts import site_depth_m
from app.records.setup import shop as shop_records
from app.records.tables.groups import GroupRow
from app.records.welcome import bookings
from app.records.welcome.bookings import SlotView
from app.rules import limits
from app.rules.people import TeachingGrade
from app.web.access import DESK, LEAD, MANAGER
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.groups.guide_day import slot_days
from app.web.own_groups import may_run
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
DEEPEST_M = float(str(limits.DEPTH_MAX_OPEN_WATER.value))
LONGEST_MIN = 120.0
OUT = "out"
LEADING = frozenset({TeachingGrade.LEVEL_1, TeachingGrade.LEVEL_2})


@router.get("/groups", name="groups")
def groups(front: Desk) -> Response:
    """Show a day's slots with their water, their groups, and who has no place yet."""
    return groups_page(front, front.day_asked())


@router.get("/groups/slots/{slot_id}/new", name="make_group_page")
def make_group_page(front: Desk, slot_id: int) -> Response:
    """Show the guests of a slot who have no group, and what a group is made of."""
    return _new_page(front, slot_id)


@router.post("/groups/slots/{slot_id}/new", name="make_group")
def make_group(front: Desk, posted: PostedForm, slot_id: int) -> Response:
    """Make a group in a slot."""
    slot = bookings.slot_view(front.session, slot_id)

    def make(act: Act) -> GroupRow:
        fields = posted.fields()
        form = _group_form(fields, front)
        offered = [str(guest.id) for guest in bookings.guests_of_slot(front.session, slot_id)]
        chosen = fields.several("guests", "guests", offered)
        fields.done()
        return group_actions.make_group(act, slot_id, form, [int(one) for one in chosen])

    return front.do(
        posted,
        make,
        then=lambda row: _at(slot.slot.day, f"group-{row.id}"),
        again=lambda problem: _new_page(
            front, slot_id, problem, [value for name, value in posted.pairs if name == "guests"]
        ),
    )


@router.get("/groups/{group_id}", name="group_page")
def group_page(front: Desk, group_id: int) -> Response:
    """Show one group with everything about it that can be changed."""
    return _group_page(front, group_id)


@router.post("/groups/{group_id}", name="change_group")
def change_group(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Change a group's name, staff, depth or time."""
    groups_records.group_view(front.session, group_id)

    def change(act: Act) -> GroupRow:
        fields = posted.fields()
        form = _group_form(fields, front)
        fields.done()
        return group_actions.change_group(act, group_id, posted.edits, form)

    return front.do(
        posted,
        change,
        then=lambda _: f"/groups/{group_id}",
        again=lambda problem: _group_page(front, group_id, problem),
    )


@router.post("/groups/{group_id}/apart", name="take_apart")
def take_apart(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Take everybody out of a group that never went in."""
    view = groups_records.group_view(front.session, group_id)

    def apart(act: Act) -> None:
        posted.fields().done()
        group_actions.take_apart(act, group_id, posted.edits)

    return front.do(
        posted,
        apart,
        then=lambda _: _at(view.slot.day, f"slot-{view.slot.id}"),
        again=lambda problem: _group_page(front, group_id, problem),
    )


@router.post("/groups/guests/{guest_id}", name="put_in_group")
def put_in_group(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Put a guest who has no place yet into a group of the slot."""
    guest = bookings.guest(front.session, guest_id)
    slot = bookings.party_view(front.session, guest.party_id).slot

    def put(act: Act) -> GroupRow:
        fields = posted.fields()
        offered = _group_choices(front, slot.slot.day, slot.slot.id)
        chosen = fields.choice("group", "a group", offered)
        fields.done()
        return group_actions.put_in_group(act, guest_id, int(chosen))

    return front.do(
        posted,
        put,
        then=lambda row: _at(slot.slot.day, f"group-{row.id}"),
        again=lambda problem: groups_page(front, slot.slot.day, problem),
    )


@router.post("/groups/members/{member_id}", name="move_guest")
def move_guest(front: Desk, posted: PostedForm, member_id: int) -> Response:
    """Move a guest to another group of the slot, or out of the group."""
    member = groups_records.member(front.session, member_id)
    view = groups_records.group_view(front.session, member.group_id)

    def move(act: Act) -> GroupRow:
        fields = posted.fields()
        others = [one for one in _group_choices(front, view.slot.day, view.slot.id) if one != str(view.id)]
        chosen = fields.choice("to", "where to", [OUT, *others])
        fields.done()
        to = None if chosen == OUT else int(chosen)
        return group_actions.move_guest(act, member_id, posted.edits, to)

    return front.do(
        posted,
        move,
        then=lambda _: f"/groups/{view.id}",
        again=lambda problem: _group_page(front, view.id, problem),
    )


def groups_page(front: Front, day: date, problem: ProblemView | None = None) -> Response:
    """Show a day as it is put together."""
    return front.page(
        "groups/groups.html",
        "Who goes with whom",
        problem=problem,
        day=day,
        day_before=day - timedelta(days=1),
        day_after=day + timedelta(days=1),
        board=day_board(front.session, front.house, day, front.now),
        sites=[(str(site.id), site.name) for site in shop_records.sites(front.session)],
        runs=lambda view: may_run(front, view),
        **_rights(front, day),
    )


def _new_page(
    front: Front, slot_id: int, problem: ProblemView | None = None, ticked: Collection[str] = ()
) -> Response:
    row = slot_board(front.session, front.house, slot_id, front.now)
    return front.page(
        "groups/new.html",
        f"Make a group, {row.slot.label}",
        problem=problem,
        row=row,
        ticked=ticked,
        view=None,
        **slot_days(front, row.slot, *_deepest_dive(front, row.slot)),
        **_people(front),
        **_rights(front, row.slot.slot.day),
    )


def _group_page(front: Front, group_id: int, problem: ProblemView | None = None) -> Response:
    view = groups_records.group_view(front.session, group_id)
    row = slot_board(front.session, front.house, view.slot.id or 0, front.now)
    return front.page(
        "groups/group.html",
        f"Group {view.group.name}, {row.slot.label}",
        problem=problem,
        row=row,
        view=view,
        board_group=next((one for one in row.groups if one.view.id == group_id), None),
        **slot_days(front, row.slot, view.group.depth_m, view.group.minutes, view.id),
        **_people(front),
        **_rights(front, view.slot.day),
    )


def _deepest_dive(front: Front, slot: SlotView) -> tuple[float, float]:
    """Return the deepest and longest dive that a new group of a slot may come to: metres and minutes."""
    binding = shop_records.limits_now(front.session)
    usual = binding[limits.DEPTH_MAX_CONFINED if slot.site.confined else limits.DEPTH_PLAN_DEFAULT].number
    here = site_depth_m(slot.site, binding)
    depths = [depth for depth in (usual, here) if depth is not None]
    return min(depths, default=0.0), binding[limits.BOTTOM_TIME_MAX].number or 0.0


def _people(front: Front) -> dict[str, Any]:
    people = groups_records.team(front.session)
    everybody = [(str(one.id), one.name) for one in people]
    return {
        "guides": [("", "Choose"), *((str(one.id), one.name) for one in people if one.grade in LEADING)],
        "helpers": [("", "Nobody"), *((str(one.id), one.name) for one in people if one.grade)],
        "watchers": [("", "Nobody yet"), *everybody],
    }


def _rights(front: Front, day: date) -> dict[str, Any]:
    signed_off = shop_records.closed_day(front.session, day) is not None
    return {
        "signed_off": signed_off,
        "may_arrange": front.visitor.has(DESK, LEAD, MANAGER) and not signed_off,
        "may_slots": front.visitor.has(DESK, MANAGER) and not signed_off,
    }


def _group_form(fields: Fields, front: Front) -> GroupForm:
    people = groups_records.team(front.session)
    leading = [str(one.id) for one in people if one.grade in LEADING]
    helping = [str(one.id) for one in people if one.grade]
    anybody = [str(one.id) for one in people]
    return GroupForm(
        name=fields.text("name", "the group's name", most=12),
        guide_id=int(fields.choice("guide", "a guide", leading) or 0),
        assistant_id=_number(fields.choice("assistant", "an assistant", helping, needed=False)),
        surface_watch_id=_number(
            fields.choice("surface_watch", "who watches the surface", anybody, needed=False)
        ),
        safety_diver_id=_number(fields.choice("safety_diver", "a safety diver", anybody, needed=False)),
        depth_m=fields.number("depth_m", "Depth", 1, DEEPEST_M, "m", needed=False),
        minutes=fields.number("minutes", "Minutes", 5, LONGEST_MIN, "min", needed=False),
    )


def _number(chosen: str) -> int | None:
    return int(chosen) if chosen else None


def _group_choices(front: Front, day: date, slot_id: int | None) -> list[str]:
    views = groups_records.groups_of(front.session, day)
    return [str(view.id) for view in views if view.slot.id == slot_id]


def _at(day: date, place: str) -> str:
    return f"/groups?day={day.isoformat()}#{place}"
