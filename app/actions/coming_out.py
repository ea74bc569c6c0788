"""Coming out of the water is never refused: what is sent is stored, flagged when odd, and shown."""

from datetime import datetime, timedelta

from app.actions.act import Act, Invalid
from app.records.counts import counts_of, events_of, missing_of, rounds_of
from app.records.groups import group_view
from app.records.shop import limits_now
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.water import CountRow, MissingRow, WaterEventRow
from app.records.water import newest_events
from app.rules import roll_call
from app.rules.head_count import CountState, count_state, is_mismatch

# A device clock this far from the shop's is odd.
ODD_CLOCK = timedelta(minutes=5)


def mark_back(act: Act, member_id: int, at: datetime, device_at: datetime | None) -> None:
    """Mark one person as back at the surface and out of the water. Never refused; odd marks are flagged."""
    member = act.get(MemberRow, member_id)
    before = newest_events(act.session, [member.group_id]).get(member_id)
    flags = []
    if before is None or before.event != "in":
        flags.append("was not marked as in the water")
    elif at < before.happened_at:
        flags.append("earlier than the time in")
    if device_at is not None and abs(act.now - device_at) > ODD_CLOCK:
        flags.append("the device's clock is odd")
    if act.get(GroupRow, member.group_id).closed_at is not None:
        flags.append("the dive was closed before")
    _event(act, member, "back", at, device_at, ", ".join(flags))
    if before is not None and before.event == "in":
        _note_names(act, member.group_id, joins=False)


def still_in(act: Act, member_id: int, why: str) -> None:
    """Take a mark "back" back: the person is in the water after all. The earlier mark stays to be read."""
    member = act.get(MemberRow, member_id)
    act.reason = why
    _event(act, member, "in", act.now, None, f"put right: {why}")


def count_heads(act: Act, group_id: int, counted: int) -> CountState:
    """Store a typed head count of those who came out; a second mismatch starts the procedure."""
    group_view(act.session, group_id)
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
    """Start the missing-person procedure, with or without a name yet. Never refused."""
    group_view(act.session, group_id)
    return act.add(
        MissingRow(
            group_id=group_id,
            started_at=act.now,
            started_by=act.actor.name,
            last_seen=last_seen,
            member_id=member_id,
        )
    )


def report_found(act: Act, missing_id: int, member_id: int | None, where: str) -> None:
    """End one procedure: with the person named and where found; raises Invalid without either."""
    row = act.get(MissingRow, missing_id)
    who = member_id or row.member_id
    errors = {}
    if who is None:
        errors["member"] = "Choose who was missing."
    if not where:
        errors["where"] = "Write where the person was found."
    if errors:
        raise Invalid(errors)
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

    joins: only beside a head count that stands alone and agrees. A head count after it is never replaced
    by names that were answered before; a mismatch is counted anew by people.
    """
    events = events_of(act.session, group_id)
    went = roll_call.entered(events)
    if not went or roll_call.in_water(events):
        return
    rounds = rounds_of(counts_of(act.session, group_id))
    last = rounds[-1] if rounds else None
    alone = last is not None and len(last.results) == 1 and not is_mismatch(last)
    by_names = last is not None and any(one.method == "names" for one in last.results)
    if (alone and not by_names) or (not joins and not alone):
        _count(act, group_id, "names", len(went))


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
    rounds = rounds_of(counts_of(act.session, group_id))
    went = roll_call.entered(events_of(act.session, group_id))
    missing = missing_of(act.session, group_id)
    state = count_state(rounds, len(went), missing, limits_now(act.session))
    if state is CountState.MISSING and missing is None:
        report_missing(act, group_id, None, "")
    return state
