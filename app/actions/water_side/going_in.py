"""Going into the water: each person marked by name, heads counted, every gate asked in the same moment."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from app.actions.act import Act, Invalid
from app.records.groups.groups import group_view
from app.records.tables.groups import GroupRow
from app.records.tables.water import CountRow, WaterEventRow
from app.records.water_side.entry import entry, run_minutes
from app.rules.readiness import may_enter_water


def go_in(
    act: Act, group_id: int, choices: dict[int, str], heads: int, at: datetime, device_at: datetime | None
) -> None:
    """Send a group in: member number -> "in" or "stays". Raises Refused with every reason, or Invalid.

    heads: the typed head count of those going in. The gate and the entry share this one transaction.
    """
    everybody = group_view(act.session, group_id).members
    going = [one.row.id or 0 for one in everybody if choices.get(one.row.id or 0) == "in"]
    errors = {
        f"member_{one.row.id}": f"Say whether {one.name} goes in."
        for one in everybody
        if choices.get(one.row.id or 0) not in ("in", "stays")
    }
    if not going and not errors:
        errors["heads"] = "Mark at least the guide and one guest as going in."
    elif heads != len(going) and not errors:
        errors["heads"] = f"{len(going)} are marked as going in, {heads} were counted. Count again."
    if errors:
        raise Invalid(errors)
    found = entry(act.session, act.house, group_id, act.now, going)
    act.allow(may_enter_water(found.facts, found.limits, act.now))
    due = at + timedelta(minutes=run_minutes(found.plan, act.get(GroupRow, group_id)))
    ashore = [one.row.id or 0 for one in everybody if one.row.id not in going]
    write_entry(act, group_id, dict.fromkeys(going, at), ashore, due, device_at)
    count_out(act, group_id, heads, len(going))


def write_entry(
    act: Act,
    group_id: int,
    times: Mapping[int, datetime],
    ashore: Iterable[int],
    due: datetime,
    device_at: datetime | None = None,
) -> None:
    """Write who went in when, by member number, and who stayed ashore; asks no gate.

    due: when everybody should be back at the surface.
    """
    first = min(times.values())
    told = [(number, "in", at) for number, at in times.items()]
    for number, event, at in (*told, *((number, "never-entered", first) for number in ashore)):
        act.add(
            WaterEventRow(
                group_id=group_id,
                member_id=number,
                event=event,
                happened_at=at,
                device_at=device_at,
                at=act.now,
                by_id=act.actor.person_id,
                by=act.actor.name,
            )
        )
    act.edit(act.get(GroupRow, group_id), None, {"entered_at": first, "due_at": due}, {})
    act.about = ("dive_group", str(group_id))


def count_out(act: Act, group_id: int, heads: int, expected: int) -> None:
    """Write the count of those going in, by name and by heads, as the one who counted."""
    for method, counted in (("names", expected), ("heads", heads)):
        act.add(
            CountRow(
                group_id=group_id,
                way="out",
                method=method,
                counted=counted,
                expected=expected,
                agrees=counted == expected,
                counter_id=act.actor.person_id,
                counter=act.actor.name,
                at=act.now,
            )
        )
