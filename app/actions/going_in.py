"""Going into the water: each person marked by name, heads counted, every gate asked in the same moment."""

from datetime import datetime, timedelta

from app.actions.act import Act, Invalid
from app.records.entry import entry, run_minutes
from app.records.groups import group_view
from app.records.tables.groups import GroupRow
from app.records.tables.water import CountRow, WaterEventRow
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
    for one in everybody:
        event = "in" if one.row.id in going else "never-entered"
        act.add(
            WaterEventRow(
                group_id=group_id,
                member_id=one.row.id or 0,
                event=event,
                happened_at=at,
                device_at=device_at,
                at=act.now,
                by_id=act.actor.person_id,
                by=act.actor.name,
            )
        )
    for method in ("names", "heads"):
        act.add(
            CountRow(
                group_id=group_id,
                way="out",
                method=method,
                counted=heads,
                expected=len(going),
                agrees=True,
                counter_id=act.actor.person_id,
                counter=act.actor.name,
                at=act.now,
            )
        )
    group = act.get(GroupRow, group_id)
    due = at + timedelta(minutes=run_minutes(found.plan, group))
    act.edit(group, None, {"entered_at": at, "due_at": due}, {})
    act.about = ("dive_group", str(group_id))
