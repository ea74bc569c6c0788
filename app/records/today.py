"""Today: each group with the next thing it needs and who must do it; what the day as a whole still needs."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.records import emergency_kit
from app.records.bookings import SlotView, slots_of
from app.records.groups import GroupView, booked_guests, groups_of, newest_conditions
from app.records.health import HealthStanding, standing
from app.records.house import House
from app.records.plans import newest_plans
from app.records.tables.groups import CylinderOutRow, MemberRow, PlanRow
from app.records.tables.parties import GuestRow
from app.records.tables.water import BriefingRow, PressureRow, SkillRow


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
    health: dict[int, HealthStanding]
    plans: dict[int, PlanRow]
    looked_at: frozenset[int]
    with_cylinder: frozenset[int]
    cylinders_out: frozenset[int]
    briefed: frozenset[int]
    skilled: frozenset[int]
    pressures: frozenset[tuple[int, str]]


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
        out = any((one.row.id or 0) in known.cylinders_out for one in view.members)
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
    members = [one.row.id or 0 for one in view.members]
    open_water = not view.site.confined
    no_cylinder = any(member not in known.with_cylinder for member in members)
    no_skills = any(one.guest is not None and one.guest.id not in known.skilled for one in view.guests)
    not_read = any((member, "start") not in known.pressures for member in members)
    slot = view.slot.id or 0
    steps = (
        (open_water and slot not in known.looked_at, "Look at the water", guide, f"/groups/slots/{slot}"),
        (no_cylinder, "Give cylinders out", "the desk", f"/gas/give?slot={slot}"),
        (open_water and view.id not in known.plans, "Plan the dive", guide, f"/groups/{view.id}/plan"),
        (view.id not in known.briefed, "Briefing", guide, water),
        (open_water and no_skills, "Shallow skills", guide, f"{water}#skills"),
        (not_read, "Start pressures", guide, f"{water}#pressures"),
    )
    for is_open, what, who, href in steps:
        if is_open:
            return Next(what, who, href)
    return Next("Roll call out", guide, f"{water}/out")


def _read(
    session: Session, house: House, day: date, now: datetime, views: list[GroupView], guests: list[GuestRow]
) -> _Known:
    ids = [view.id for view in views]
    members = [one.row.id or 0 for view in views for one in view.members]
    in_groups = [one.guest for view in views for one in view.guests if one.guest is not None]
    everyone = {guest.id: guest for guest in (*guests, *in_groups)}
    outs = list(session.exec(select(CylinderOutRow).where(col(CylinderOutRow.member_id).in_(members))))
    briefed = select(BriefingRow.group_id).where(col(BriefingRow.group_id).in_(ids), BriefingRow.about == "")
    skilled = (
        select(SkillRow.guest_id)
        .join(MemberRow, col(MemberRow.guest_id) == SkillRow.guest_id)
        .where(col(SkillRow.group_id).in_(ids))
    )
    read = select(PressureRow.member_id, PressureRow.moment).where(col(PressureRow.member_id).in_(members))
    return _Known(
        now=now,
        health=standing(session, house, everyone.values(), day),
        plans=newest_plans(session, ids),
        looked_at=frozenset(newest_conditions(session, {view.slot.id for view in views})),
        with_cylinder=frozenset(out.member_id for out in outs),
        cylinders_out=frozenset(out.member_id for out in outs if out.back_at is None),
        briefed=frozenset(session.exec(briefed.distinct())),
        skilled=frozenset(session.exec(skilled.distinct())),
        pressures=frozenset((member, moment) for member, moment in session.exec(read.distinct())),
    )
