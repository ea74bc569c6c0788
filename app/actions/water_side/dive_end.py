"""After the dive: what it was like, and closing it with the incidents that its own record shows."""

from collections.abc import Collection

from app.actions.act import Act
from app.actions.water_side.dive_incidents import readings_of, write_shown
from app.records.groups.facts import member_key
from app.records.groups.groups import group_view
from app.records.setup.shop import closed_day, limits_now
from app.records.tables.days import IncidentRow
from app.records.tables.groups import GroupRow
from app.records.water_side.counts import events_of, missing_of, rounds_in
from app.records.water_side.entry import divers_of
from app.rules.dive_record import may_write
from app.rules.head_count import DiveEnd, may_close_dive
from app.rules.roll_call import DiverEnd

LABELS = {
    "greatest_depth_m": "Greatest depth in m",
    "stop_done": "Stop done",
    "ascent": "Way up",
    "happened": "What happened",
    "separated": "Lost sight of the group",
    "computers": "Dive computers",
}


def write_dive(
    act: Act,
    group_id: int,
    version: int,
    depth_m: float,
    ascent: str,
    stop_done: bool | None,
    happened: str,
    why: str = "",
    separated: Collection[int] = (),
    computers: str = "",
) -> None:
    """Write what the dive was like: greatest depth in m, "slower" or "faster" than the limit, the stop.

    separated: members, by number, who lost sight of the group under water.
    computers: who had a dive computer, a key of ``COMPUTERS``; "" leaves what was said before.
    stop_done: None when the plan asks for no stop. why: for a dive that is closed already, what was wrong.
    Raises Clash for a stale version, Refused before going in and once the day is signed off.
    """
    group, view = act.get(GroupRow, group_id), group_view(act.session, group_id)
    signed_off = closed_day(act.session, view.slot.day) is not None
    act.allow(may_write(group.entered_at is not None, signed_off))
    act.about, act.reason = ("dive_group", str(group_id)), why
    values = {
        "greatest_depth_m": depth_m,
        "ascent": ascent,
        "stop_done": stop_done,
        "happened": happened,
        "separated": " ".join(str(number) for number in sorted(separated)),
        "computers": computers or group.computers,
    }
    act.edit(group, version, values, LABELS)
    look_again(act, group_id)


def close_dive(act: Act, group_id: int) -> list[IncidentRow]:
    """Close a dive when everybody is answered for; raises Refused. Returns the incidents it wrote.

    A dive that is closed already stays as it is.
    """
    group = act.get(GroupRow, group_id)
    act.about = ("dive_group", str(group_id))
    if group.closed_at is not None:
        return []
    view = group_view(act.session, group_id)
    end = DiveEnd(
        {member_key(one.row): one.name for one in view.members},
        events_of(act.session, group_id),
        rounds_in(act.session, group_id),
        missing_of(act.session, group_id),
        tuple(
            DiverEnd(one.key, one.name, None if one.end is None else one.end.bar, readings_of(one))
            for one in divers_of(act.session, view.members)
        ),
        view.group.happened,
    )
    act.allow(may_close_dive(end, limits_now(act.session)))
    act.edit(group, None, {"closed_at": act.now, "closed_by": act.actor.name}, {})
    return write_shown(act, view)


def look_again(act: Act, group_id: int) -> None:
    """After a closed dive was put right: write the incidents that its record shows now."""
    view = group_view(act.session, group_id)
    if view.group.closed_at is not None:
        write_shown(act, view)
