"""Today: each group with the next thing it needs and who must do it; what the day as a whole still needs."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from app.records.groups.groups import GroupView, booked_guests, groups_of, newest_conditions
from app.records.health.health import HealthStanding, standing
from app.records.plans.plans import PlanView, current_plans
from app.records.setup.shop import limits_now, the_shop
from app.records.store.house import House
from app.records.tables.parties import GuestRow
from app.records.water_side import emergency_kit
from app.records.water_side.entry import DiverView, answers_by_group, divers_of, marks_of
from app.records.welcome.bookings import SlotView, slots_of
from app.rules import briefing
from app.rules.briefing import Answer
from app.rules.resolve import Limits
from app.rules.sign_off import SkillMark, group_may_go_open


@dataclass(frozen=True)
class Next:
    """The next thing: in words, who does it, where, and whether somebody is overdue."""

    what: str
    who: str
    href: str
    urgent: bool = False


@dataclass(frozen=True)
class GroupToday:
    """One row of Today."""

    view: GroupView
    next: Next


@dataclass(frozen=True)
class SlotToday:
    """A slot with its groups and the guests who have no group yet."""

    slot: SlotView
    groups: tuple[GroupToday, ...]
    waiting: tuple[GuestRow, ...]


@dataclass(frozen=True)
class Today:
    """The whole day. holds: guests whom something keeps ashore, with the word for it."""

    slots: tuple[SlotToday, ...]
    holds: tuple[tuple[GuestRow, HealthStanding], ...]
    kit_checked: bool
    kit_missing: int


@dataclass(frozen=True)
class _Known:
    """Everything read once for all groups of the day."""

    now: datetime
    day: date
    limits: Limits
    health: dict[int, HealthStanding]
    plans: dict[int, PlanView]
    looked_at: frozenset[int]
    divers: dict[int, DiverView]
    answers: dict[int, tuple[Answer, ...]]
    marks: tuple[SkillMark, ...]


def today(session: Session, house: House, day: date, now: datetime) -> Today:
    """Return the day as Today shows it. The count of queries does not grow with the groups."""
    views = groups_of(session, day)
    booked = booked_guests(session, day)
    guests = [guest for group in booked.values() for guest in group]
    known = _read(session, house, day, now, views, guests)
    placed = {one.guest.id for view in views for one in view.guests if one.guest is not None}
    slots = []
    for slot in slots_of(session, day):
        mine = [view for view in views if view.slot.id == slot.slot.id]
        slots.append(
            SlotToday(
                slot,
                tuple(GroupToday(view, next_thing(view, known)) for view in mine),
                tuple(guest for guest in booked.get(slot.slot.id or 0, []) if guest.id not in placed),
            )
        )
    check = emergency_kit.check_of(session, day)
    holds = [(guest, known.health[guest.id or 0]) for guest in guests if guest.id in known.health]
    return Today(
        tuple(slots),
        tuple((guest, one) for guest, one in holds if not one.settled),
        check is not None,
        0 if check is None else len(check.missing),
    )


def next_thing(view: GroupView, known: _Known) -> Next:
    """Return what this group needs next: the first open step in the order of the day."""
    water, groups = f"/water/{view.id}", f"/groups?day={view.slot.day}#group-{view.id}"
    guide = view.guide.name if view.guide is not None else "the desk"
    if view.anybody_in:
        late = view.group.due_at is not None and known.now > view.group.due_at
        return Next("Overdue: roll call in" if late else "Roll call in", guide, f"{water}/back", late)
    if view.group.closed_at is not None:
        out = any(known.divers[one.row.id or 0].held is not None for one in view.members)
        return Next("Cylinders back", guide, f"{water}/wrap") if out else Next("Done", "", f"{water}/wrap")
    if view.group.entered_at is not None:
        return Next("Count heads and wrap up", guide, f"{water}/wrap")
    if view.group.aborted_at is not None:
        return Next("Called off", "", water)
    if view.guide is None:
        return Next("Choose a guide", "the desk", groups)
    held = _held(view, known, guide)
    if held is not None:
        return held
    return _preparing(view, known, guide, water)


def _held(view: GroupView, known: _Known, guide: str) -> Next | None:
    for one in view.guests:
        stands = known.health.get(one.guest.id or 0) if one.guest is not None else None
        if one.guest is None or stands is None or stands.settled:
            continue
        if stands.outcome == "TALK":
            return Next(f"Talk with {one.name}", guide, f"/guests/{one.guest.id}/health")
        if stands.outcome in (None, "INCOMPLETE"):
            return Next(f"Health form of {one.name}", "the desk", f"/guests/{one.guest.id}/health")
        return Next(f"{one.name}: {stands.word.lower()}", "the desk", f"/guests/{one.guest.id}/health")
    return None


def _preparing(view: GroupView, known: _Known, guide: str, water: str) -> Next:
    divers = [known.divers[one.row.id or 0] for one in view.members]
    open_water = not view.site.confined
    plan = known.plans.get(view.id)
    answers = known.answers.get(view.id, ())
    briefed = briefing.briefing_complete(answers, known.limits, known.day).allowed
    checked = all(
        briefing.kit_checked(answers, known.limits, known.day, one.key, one.name).allowed for one in divers
    )
    guests = {one.key: one.name for one in divers if one.member.guest_id is not None}
    skilled = group_may_go_open(guests, known.marks, known.day, known.limits).allowed
    looked = all(
        (stands := known.health.get(one.guest.id or 0)) is not None and stands.look is not None
        for one in view.guests
        if one.guest is not None
    )
    slot = view.slot.id or 0
    gas, planned = f"/gas/give?slot={slot}", f"/groups/{view.id}/plan"
    steps = (
        (open_water and slot not in known.looked_at, "Look at the water", guide, f"/groups/slots/{slot}"),
        (any(one.held is None for one in divers), "Give cylinders out", "the desk", gas),
        (open_water and plan is None, "Plan the dive", guide, planned),
        (plan is not None and not plan.up_to_date, "Issue the plan again", guide, planned),
        (not briefed, "Briefing", guide, f"{water}#briefing"),
        (not checked, "Kit check", guide, f"{water}#kit-check"),
        (not looked, "Look at each guest", guide, f"{water}#shore-look"),
        (open_water and not skilled, "Shallow skills", guide, f"{water}#skills"),
        (any(one.start is None for one in divers), "Start pressures", guide, f"{water}#pressures"),
    )
    for is_open, what, who, href in steps:
        if is_open:
            return Next(what, who, href)
    return Next("Roll call out", guide, f"{water}/out")


def _read(
    session: Session, house: House, day: date, now: datetime, views: list[GroupView], guests: list[GuestRow]
) -> _Known:
    members = [one for view in views for one in view.members]
    in_groups = [one.guest for one in members if one.guest is not None]
    everyone = {guest.id: guest for guest in (*guests, *in_groups)}
    zone = the_shop(session).zone
    return _Known(
        now=now,
        day=day,
        limits=limits_now(session),
        health=standing(session, house, everyone.values(), day),
        plans=current_plans(session, house, day, now),
        looked_at=frozenset(newest_conditions(session, {view.slot.id for view in views})),
        divers={one.id: one for one in divers_of(session, members)},
        answers=answers_by_group(session, [view.id for view in views], zone),
        marks=marks_of(session, [guest.id or 0 for guest in in_groups], zone),
    )
