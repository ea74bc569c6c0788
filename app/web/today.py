"""Today: one row per group and slot, what is needed next and by whom; who is in the water."""

from datetime import date, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.backups.backup_state import to_tell
from app.records.gas_room.fill_batches import aside_but_out
from app.records.gas_room.gauge_doubts import open_doubts
from app.records.groups.groups import GroupView
from app.records.guest_side.aftercare import CheckView, open_checks
from app.records.health import keeper
from app.records.kit_rail import kit_faults
from app.records.look_back.incident_file import TaskView, due_tasks
from app.records.setup.shop import closed_day, limits_now
from app.records.store.room import megabytes_left
from app.records.today.today import today as today_records
from app.records.water_side.emergency_kit import limits_of_day, oxygen_at_hand
from app.records.water_side.shore_watch import on_watch
from app.rules.health_access import may_see_outcome
from app.rules.roll_call import Lateness, lateness
from app.web.access import DESK, INSTRUCTOR, KEEPER, LEAD, MANAGER, TABLE
from app.web.front import Desk, Front
from app.web.own_groups import may_run

router = APIRouter()
# What the day needs and the menu of some roles has no room for: label, address, route it opens.
ELSEWHERE = (
    ("Welcome", "/welcome?day={day}", "welcome"),
    ("Who goes with whom", "/groups?day={day}", "groups"),
    ("Gas room", "/gas", "gas_room"),
    ("Can we take more?", "/can-we-take?day={day}", "can_we_take"),
    ("Kit rail", "/kit", "kit"),
    ("Emergency kit", "/emergency-kit", "emergency_kit"),
    ("Day sheet", "/days/{day}/sheet", "day_sheet"),
    ("Link a phone", "/phones", "link_phone_page"),
    ("Prints", "/prints?day={day}", "prints"),
    ("Health forms on paper", "/paper-forms?day={day}", "paper_forms"),
    ("Looks at health records", "/health/looks", "health_looks"),
    ("Write down what happened", "/incidents/new", "incident_page"),
)


@router.get("/today", name="today")
def today(front: Desk) -> Response:
    """Show the day; people in the water come first."""
    day = front.day_asked()
    return front.page(
        "today/today.html",
        "Today" if day == front.today else f"{day:%a} {day.day} {day:%b}",
        day=day,
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        shown=today_records(front.session, front.house, day, front.now),
        closed=closed_day(front.session, day),
        faults=_faults(front, day),
        exit_checks=_exit_checks(front, day),
        still_out=aside_but_out(front.session),
        doubts=open_doubts(front.session) if front.visitor.has(LEAD) else (),
        oxygen=oxygen_at_hand(front.session, front.today, limits_of_day(front.session, front.today)),
        follow_ups=_follow_ups(front, day),
        elsewhere=_elsewhere(front, day),
        emergency_looks=_emergency_looks(front) if day == front.today else [],
        keeper_waits=_keeper_waits(front) if day == front.today else [],
        room_left=megabytes_left(front.house.settings.data) if front.visitor.has("manager") else None,
        keeping=to_tell(front.session, front.house) if front.visitor.has(MANAGER) else (),
        opens=lambda view, href: _opens(front, view, href),
        opens_health=may_see_outcome(front.visitor.roles, is_today=day == front.today),
    )


@router.get("/today/water", name="water_board")
def water_board(front: Desk) -> Response:
    """Show who is in the water, since when, when they are due, and their gauges as last read."""
    limits = limits_now(front.session)
    groups = [
        (one, lateness(one.people[0].person.due_at, front.now, limits)) for one in on_watch(front.session)
    ]
    return front.page(
        "today/water.html",
        "In the water",
        groups=groups,
        people=sum(len(one.people) for one, _ in groups),
        late=any(how_late in (Lateness.LATE, Lateness.EMERGENCY) for _, how_late in groups),
    )


def _faults(front: Front, day: date) -> list[kit_faults.FaultView]:
    """Return the faults of kit that no lead has seen, for whoever has to see them."""
    asked = day == front.today and front.visitor.has(LEAD, MANAGER)
    return kit_faults.not_seen(front.session, day) if asked else []


def _follow_ups(front: Front, day: date) -> tuple[TaskView, ...]:
    """Return what this person still has to do about incidents, due today or earlier."""
    if day != front.today or front.visitor.person_id is None:
        return ()
    return due_tasks(front.session, day, front.visitor.person_id)


def _exit_checks(front: Front, day: date) -> list[tuple[CheckView, GroupView]]:
    """Return the guests who said yes on coming out and wait for somebody, for the lead and the manager."""
    return open_checks(front.session, front.house, day) if front.visitor.has(LEAD, MANAGER) else []


def _emergency_looks(front: Front) -> list[keeper.EmergencyLook]:
    """Return the emergency looks that the lead is told of: not reviewed yet."""
    if not front.visitor.has(LEAD):
        return []
    return [one for one in keeper.emergency_looks(front.session, front.now) if one.review is None]


def _keeper_waits(front: Front) -> list[str]:
    return keeper.waiting(front.session, front.today, front.now) if front.visitor.has(KEEPER) else []


def _opens(front: Front, view: GroupView, href: str) -> bool:
    """Return whether a group's next page is open to this visitor; others read what it is without a link."""
    water = f"/water/{view.id}"
    if href.startswith(water) and href != f"{water}/back":
        return may_run(front, view)
    if href.startswith("/guests/"):
        return may_see_outcome(front.visitor.roles, is_today=view.slot.day == front.today)
    return front.visitor.has(DESK, INSTRUCTOR, LEAD, MANAGER)


def _elsewhere(front: Front, day: date) -> list[tuple[str, str]]:
    mine = front.visitor.roles
    return [(label, href.format(day=day)) for label, href, route in ELSEWHERE if TABLE[route].roles & mine]
