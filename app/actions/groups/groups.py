"""Who goes with whom: making groups, placing and moving guests, changing who leads and who watches.

Every change asks the gate again inside its transaction: the new rows are written, the facts are read
back with them, and a refusal undoes it all. Taking somebody out never makes a group worse and is refused
only for who went in the water.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from app.actions.act import Act, Clash, Difference, Invalid
from app.records.groups import facts as facts_records
from app.records.groups.groups import ASSISTANT, GUEST, GUIDE, GroupView, MemberView, group_view, groups_of
from app.records.setup.shop import closed_day, own_limits, the_shop
from app.records.store.problems import NotHere
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.parties import GuestRow, SlotRow
from app.records.tables.people import PersonRow
from app.rules import group_change
from app.rules import limits as L
from app.rules.decision import Decision, all_of
from app.rules.groups import GroupFacts
from app.rules.measure import must
from app.rules.plan_check import depth_in_force
from app.rules.resolve import Limits

LABELS = {"name": "Name", "depth_m": "Depth in m", "minutes": "Minutes"}
LEFT = {"left_at": "Left at", "left_by": "Taken out by"}
STAFF_LABELS = {
    "guide_id": "Guide",
    "assistant_id": "Assistant",
    "surface_watch_id": "Surface watch",
    "safety_diver_id": "Safety diver",
}


@dataclass(frozen=True)
class GroupForm:
    """What a group is made of, besides its guests. depth_m, minutes: None takes what the limits allow."""

    name: str
    guide_id: int
    assistant_id: int | None = None
    surface_watch_id: int | None = None
    safety_diver_id: int | None = None
    depth_m: float | None = None
    minutes: float | None = None


def make_group(act: Act, slot_id: int, form: GroupForm, guest_ids: Iterable[int]) -> GroupRow:
    """Make a group in a slot; raises Refused with every reason, Invalid for a name taken, NotHere."""
    slot = act.get(SlotRow, slot_id)
    _day_is_open(act, slot)
    _name_is_free(act, slot, form.name, None)
    row = act.add(GroupRow(slot_id=slot_id, name=form.name, depth_m=0, minutes=0))
    _join(act, row, GUIDE, person=form.guide_id)
    if form.assistant_id is not None:
        _join(act, row, ASSISTANT, person=form.assistant_id)
    for guest_id in guest_ids:
        _join(act, row, GUEST, guest=guest_id)
    facts, limits = _facts(act, row)
    deepest, longest = depth_in_force(limits, facts.where).number, limits[L.BOTTOM_TIME_MAX].number
    values = {
        "depth_m": form.depth_m if form.depth_m is not None else deepest or 0.0,
        "minutes": form.minutes if form.minutes is not None else longest or 0.0,
        "surface_watch_id": form.surface_watch_id,
        "safety_diver_id": form.safety_diver_id,
    }
    act.edit(row, None, values, LABELS)
    _ask(act, row, dive=True)
    act.about = ("dive_group", str(row.id))
    return row


def change_group(act: Act, group_id: int, version: int, form: GroupForm) -> GroupRow:
    """Change a group's name, staff, depth or minutes.

    Raises Clash with both values for a stale version, Refused with every reason, Invalid, NotHere.
    """
    view = group_view(act.session, group_id)
    _same_version(act, view, version, form)
    _day_is_open(act, view.slot)
    act.allow(_still_open(view))
    _name_is_free(act, view.slot, form.name, group_id)
    for part, now, wanted in (
        (GUIDE, view.guide, form.guide_id),
        (ASSISTANT, view.assistant, form.assistant_id),
    ):
        if (now.row.person_id if now else None) == wanted:
            continue
        if now is not None:
            _leave(act, now, None)
        if wanted is not None:
            _join(act, view.group, part, person=wanted)
    values = {
        "name": form.name,
        "depth_m": view.group.depth_m if form.depth_m is None else form.depth_m,
        "minutes": view.group.minutes if form.minutes is None else form.minutes,
        "surface_watch_id": form.surface_watch_id,
        "safety_diver_id": form.safety_diver_id,
    }
    act.edit(view.group, version, values, LABELS)
    _ask(act, view.group, dive=True)
    act.about = ("dive_group", str(group_id))
    return view.group


def change_dive(act: Act, group_id: int, version: int, depth_m: float, minutes: float) -> GroupRow:
    """Change how deep and how long a group plans to dive; raises Clash, Refused, NotHere."""
    view = group_view(act.session, group_id)
    act.edit(view.group, version, {"depth_m": depth_m, "minutes": minutes}, LABELS)
    act.allow(_still_open(view))
    facts, limits = _facts(act, view.group)
    act.allow(group_change.planned_dive_fits(depth_m, minutes, facts, limits))
    act.about = ("dive_group", str(group_id))
    return view.group


def put_in_group(act: Act, guest_id: int, group_id: int) -> GroupRow:
    """Put a guest who has no place yet into a group; raises Refused with every reason, NotHere."""
    view = group_view(act.session, group_id)
    _day_is_open(act, view.slot)
    act.allow(_still_open(view))
    _join(act, view.group, GUEST, guest=guest_id)
    _ask(act, view.group)
    act.about = ("dive_group", str(group_id))
    return view.group


def move_guest(act: Act, member_id: int, version: int, to_group_id: int | None) -> GroupRow:
    """Move a guest to another group of the slot, or out of the group (None).

    Raises Refused for who went in and with every reason of the other group, Clash, NotHere.
    """
    member = act.get(MemberRow, member_id)
    view = group_view(act.session, member.group_id)
    here = next((one for one in view.guests if one.row.id == member_id), None)
    if here is None:
        if member.part != GUEST:
            raise NotHere(f"member {member_id}")
        # Somebody else took the guest out meanwhile: the version tells who and when.
        act.edit(member, version, {"left_at": act.now, "left_by": act.actor.name}, LEFT)
        raise NotHere(f"member {member_id}")
    _day_is_open(act, view.slot)
    _leave(act, here, version)
    act.about = ("dive_group", str(view.id))
    if to_group_id is None:
        return view.group
    other = group_view(act.session, to_group_id)
    if other.slot.id != view.slot.id:
        raise NotHere(f"group {to_group_id} in this slot")
    act.allow(_still_open(other))
    _join(act, other.group, GUEST, guest=member.guest_id)
    _ask(act, other.group)
    return other.group


def take_apart(act: Act, group_id: int, version: int) -> SlotRow:
    """Take everybody out of a group that never went in; the group stays in the records, empty.

    Raises Clash, Refused for a group that went in or was called off, NotHere.
    """
    view = group_view(act.session, group_id)
    _day_is_open(act, view.slot)
    act.allow(_still_open(view))
    act.edit(view.group, version, {}, LABELS)
    for member in view.members:
        _leave(act, member, None)
    act.about = ("dive_group", str(group_id))
    return view.slot


def _join(act: Act, group: GroupRow, part: str, person: int | None = None, guest: int | None = None) -> None:
    if part == GUEST:
        act.get(GuestRow, guest)
    elif not act.get(PersonRow, person).active:
        raise NotHere(f"person {person}")
    act.add(
        MemberRow(
            group_id=group.id or 0,
            part=part,
            person_id=person,
            guest_id=guest,
            joined_at=act.now,
            joined_by=act.actor.name,
        )
    )


def _leave(act: Act, member: MemberView, version: int | None) -> None:
    act.edit(member.row, version, {"left_at": act.now, "left_by": act.actor.name}, LEFT)
    act.allow(group_change.may_leave(member.name, member.event))


def _facts(act: Act, group: GroupRow) -> tuple[GroupFacts, Limits]:
    facts = facts_records.group_facts(act.session, act.house, group.id or 0, act.now)
    shop = the_shop(act.session)
    return facts, group_change.planned_limits(facts, shop.preset, own_limits(act.session))


def _ask(act: Act, group: GroupRow, *, dive: bool = False) -> None:
    """Ask the gate with the rows as they are now; what refuses undoes the act, the rest is noted.

    The depth is asked only where it was just typed: a guest who joins may make it too much, and then the
    page says so and no plan is issued before it is put right.
    """
    facts, limits = _facts(act, group)
    asked = group_change.may_plan(facts, limits) + _ashore(act, group, facts, limits)
    if dive:
        asked = asked + group_change.planned_dive_fits(group.depth_m, group.minutes, facts, limits)
    act.allow(asked)
    # What is still open for each guest stands on the page; here only what concerns the whole group.
    act.notices.extend(note for note in asked.notes if not note.who)


def _ashore(act: Act, group: GroupRow, facts: GroupFacts, limits: Limits) -> Decision:
    view = group_view(act.session, group.id or 0)
    mine = {one.row.person_id for one in view.members}
    return all_of(
        group_change.may_stand_ashore(
            person.name,
            person.id in mine,
            facts_records.diving_elsewhere(act.session, view, person.id or 0, act.now),
            facts.start,
            facts.end,
            limits,
        )
        for person in (view.surface_watch, view.safety_diver)
        if person is not None
    )


def _still_open(view: GroupView) -> Decision:
    group = view.group
    return group_change.may_change_people(
        group.entered_at is not None, group.aborted_at is not None, group.closed_at is not None
    )


def _day_is_open(act: Act, slot: SlotRow) -> None:
    act.allow(
        must(
            L.DIVE_CLOSED,
            closed_day(act.session, slot.day) is None,
            "This day is signed off. Its groups stay as they were.",
            found="signed off",
            needed="an open day",
        )
    )


def _name_is_free(act: Act, slot: SlotRow, name: str, group_id: int | None) -> None:
    taken = {view.group.name.casefold() for view in groups_of(act.session, slot.day) if view.id != group_id}
    if name.casefold() in taken:
        raise Invalid({"name": f"There is a group {name} on this day already. Choose another name."})


def _same_version(act: Act, view: GroupView, version: int, form: GroupForm) -> None:
    """Raise Clash with names, not numbers, when somebody changed the group meanwhile."""
    group = view.group
    if group.version == version:
        return
    theirs = {
        "guide_id": view.guide.row.person_id if view.guide else None,
        "assistant_id": view.assistant.row.person_id if view.assistant else None,
        "surface_watch_id": group.surface_watch_id,
        "safety_diver_id": group.safety_diver_id,
    }
    differences = [
        Difference(label, _name(act, getattr(form, key)), _name(act, theirs[key]))
        for key, label in STAFF_LABELS.items()
        if getattr(form, key) != theirs[key]
    ]
    values = {"name": form.name, "depth_m": form.depth_m, "minutes": form.minutes}
    try:
        act.edit(group, version, values, LABELS)
    except Clash as clash:
        raise Clash(differences + clash.differences, clash.who, clash.when) from None


def _name(act: Act, person_id: int | None) -> str:
    return "nobody" if person_id is None else act.get(PersonRow, person_id).name
