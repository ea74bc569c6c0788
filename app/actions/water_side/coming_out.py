"""Coming out of the water is never refused: what is sent is stored, flagged when odd, and shown."""

from datetime import datetime, timedelta

from app.actions.act import SENT_BY_ENDED, Act, Invalid
from app.actions.water_side.dive_incidents import missing_person, write_found
from app.records.groups.groups import group_view
from app.records.setup.shop import closed_day, limits_now
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.water import CountRow, MissingRow, WaterEventRow
from app.records.water_side.counts import events_of, missing_of, rounds_in
from app.records.water_side.water import dive_times, member_names, newest_events
from app.rules import roll_call
from app.rules.dive_record import may_put_right, may_take_mark_back
from app.rules.head_count import CountState, count_state, is_mismatch

# A phone that tells another time than the shop by this much was without signal, or its clock is wrong.
ODD_CLOCK = timedelta(minutes=5)
SENT_LATE = "sent late, or the phone's clock is wrong"


def mark_back(act: Act, member_id: int, device_at: datetime | None) -> None:
    """Mark one person as back at the surface and out of the water. Never refused; odd marks are flagged.

    device_at: when the phone says that it was marked. Who never went in is answered for, and counts as one
    who stayed ashore.
    """
    member = act.get(MemberRow, member_id)
    before = newest_events(act.session, [member.group_id]).get(member_id)
    went = dive_times(act.session, [member_id]).get(member_id)
    flags = [SENT_BY_ENDED] if act.actor.ended_device else []
    if before is None or before.event != "in":
        flags.append("marked as back, was not in the water")
    elif act.now < before.happened_at:
        flags.append("earlier than the time in")
    if device_at is not None and abs(act.now - device_at) > ODD_CLOCK:
        flags.append(SENT_LATE)
    if act.get(GroupRow, member.group_id).closed_at is not None:
        flags.append("the dive was closed before")
    _event(act, member, "back" if went else "never-entered", act.now, device_at, ", ".join(flags))
    if before is not None and before.event == "in":
        _note_names(act, member.group_id, joins=False)


def still_in(act: Act, member_id: int, why: str) -> None:
    """Take a mark "back" back: the person was in the water all along. The mark stays to be read.

    A dive that was closed is open again, and a head count that had found this person is counted anew.
    Raises Refused for somebody who never went in: nobody goes in by a correction.
    """
    member = act.get(MemberRow, member_id)
    before = newest_events(act.session, [member.group_id]).get(member_id)
    times = dive_times(act.session, [member_id]).get(member_id)
    name = member_names(act.session, [member]).get(member_id, "")
    act.allow(may_take_mark_back(name, "" if before is None else before.event))
    act.about, act.reason = ("member", str(member_id)), why
    if times is None or times.back is None:
        return
    _event(act, member, "in", times.went, None, f"put right: {why}")
    group = act.get(GroupRow, member.group_id)
    if group.closed_at is not None:
        act.edit(group, None, {"closed_at": None, "closed_by": ""}, {})
    if _heads_agreed(act, member.group_id):
        events = events_of(act.session, member.group_id)
        _count(act, member.group_id, "names", len(roll_call.entered(events) - roll_call.in_water(events)))
        _state(act, member.group_id)


def put_times_right(act: Act, member_id: int, went: datetime, back: datetime, why: str) -> None:
    """Write the times in and out of one person who is back once more; the earlier ones stay to be read.

    Raises Invalid when the time out is not after the time in or somebody is not back, Refused once the day is
    signed off.
    """
    member = act.get(MemberRow, member_id)
    day = group_view(act.session, member.group_id).slot.day
    act.allow(may_put_right(closed_day(act.session, day) is not None))
    before = newest_events(act.session, [member.group_id]).get(member_id)
    if before is None or before.event != "back":
        raise Invalid({"back": "The times can be put right once this person is marked as back."})
    if back <= went:
        raise Invalid({"back": "The time out must be after the time in."})
    act.about, act.reason = ("member", str(member_id)), why
    for event, at in (("in", went), ("back", back)):
        _event(act, member, event, at, None, f"time put right: {why}")


def count_heads(act: Act, group_id: int, counted: int) -> CountState:
    """Store a typed head count of those who came out; a second mismatch starts the procedure."""
    group_view(act.session, group_id)
    act.about = ("dive_group", str(group_id))
    _count(act, group_id, "heads", counted)
    _note_names(act, group_id, joins=True)
    return _state(act, group_id)


def call_off(act: Act, group_id: int, why: str) -> None:
    """End a dive for good, before or during it: the instructor's word is final."""
    group = act.get(GroupRow, group_id)
    act.about, act.reason = ("dive_group", str(group_id)), why
    if group.aborted_at is not None:
        return
    values = {"aborted_at": act.now, "aborted_by": act.actor.name, "aborted_why": why}
    act.edit(group, None, values, {})


def report_missing(act: Act, group_id: int, member_id: int | None, last_seen: str) -> MissingRow:
    """Start the missing-person procedure, with or without a name yet. Never refused.

    It is a serious incident from its first moment.
    """
    view = group_view(act.session, group_id)
    act.about = ("dive_group", str(group_id))
    row = act.add(
        MissingRow(
            group_id=group_id,
            started_at=act.now,
            started_by=act.actor.name,
            last_seen=last_seen,
            member_id=member_id,
        )
    )
    write_found(act, view, missing_person(view, limits_now(act.session), act.now))
    return row


def report_found(act: Act, missing_id: int, member_id: int | None, where: str) -> None:
    """End one procedure: with the person named and where found; raises Invalid without either.

    Told twice, both places stay to be read.
    """
    row = act.get(MissingRow, missing_id)
    who = member_id or row.member_id
    errors = {}
    if who is None:
        errors["member"] = "Choose who was missing."
    if not where:
        errors["where"] = "Write where the person was found."
    if errors:
        raise Invalid(errors)
    act.about = ("dive_group", str(row.group_id))
    if row.ended_at is not None:
        act.edit(row, None, {"found_where": f"{row.found_where}; {act.actor.name}: {where}"}, {})
        return
    values = {"member_id": who, "found_where": where, "ended_at": act.now, "ended_by": act.actor.name}
    act.edit(row, None, values, {})


def _event(
    act: Act, member: MemberRow, event: str, at: datetime, device_at: datetime | None, flag: str
) -> None:
    act.add(
        WaterEventRow(
            group_id=member.group_id,
            member_id=member.id or 0,
            event=event,
            happened_at=at,
            device_at=device_at,
            at=act.now,
            by_id=act.actor.person_id,
            by=act.actor.name,
            flag=flag,
        )
    )


def _note_names(act: Act, group_id: int, *, joins: bool) -> None:
    """When everybody who went in has answered by name, that is a count too: people take part in it.

    It begins a round, or stands beside a head count that is alone and agrees. joins: only the latter, for
    names that were answered before the heads were counted.
    """
    events = events_of(act.session, group_id)
    went = roll_call.entered(events)
    if not went or roll_call.in_water(events):
        return
    rounds = rounds_in(act.session, group_id)
    last = rounds[-1] if rounds else None
    begins = last is None or is_mismatch(last)
    beside = last is not None and not begins and [one.method for one in last.results] == ["heads"]
    if beside or (begins and not joins):
        _count(act, group_id, "names", len(went))


def _heads_agreed(act: Act, group_id: int) -> bool:
    """Whether the last round holds a head count and no mismatch."""
    rounds = rounds_in(act.session, group_id)
    last = rounds[-1] if rounds else None
    return last is not None and not is_mismatch(last) and any(one.method == "heads" for one in last.results)


def _count(act: Act, group_id: int, method: str, counted: int) -> None:
    went = roll_call.entered(events_of(act.session, group_id))
    act.add(
        CountRow(
            group_id=group_id,
            way="in",
            method=method,
            counted=counted,
            expected=len(went),
            agrees=counted == len(went),
            counter_id=act.actor.person_id,
            counter=act.actor.name,
            at=act.now,
        )
    )


def _state(act: Act, group_id: int) -> CountState:
    rounds = rounds_in(act.session, group_id)
    went = roll_call.entered(events_of(act.session, group_id))
    missing = missing_of(act.session, group_id)
    state = count_state(rounds, len(went), missing, limits_now(act.session))
    if state is CountState.MISSING and missing is None:
        report_missing(act, group_id, None, "")
    return state
