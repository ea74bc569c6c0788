"""Lead at the water: what the guide sees of it in the check, and more or less of it on the spot."""

from app.actions.act import Act
from app.actions.kit_rail.kit import give_weights
from app.records.groups.groups import GroupView, group_view
from app.records.setup.shop import closed_day
from app.records.store.problems import NotHere
from app.records.tables.kit import WeightsRow
from app.rules.dive_record import may_put_right

CHECK_LABELS = {"float_check": "Check in the water", "checked_by": "Checked by", "checked_at": "Checked at"}


def check_float(act: Act, group_id: int, weights_id: int, version: int, seen: str) -> WeightsRow:
    """Write down how a guest of the group hangs with this lead: "floats", "level" or "sinks".

    Raises Clash when other lead was given or another check written meanwhile, Refused on a day signed off,
    NotHere.
    """
    view, row = group_view(act.session, group_id), act.get(WeightsRow, weights_id)
    if row.guest_id not in _guests(view) or row.slot_id != view.slot.id:
        raise NotHere(f"lead {weights_id} in group {group_id}")
    act.allow(may_put_right(closed_day(act.session, view.slot.day) is not None))
    values = {"float_check": seen, "checked_by": act.actor.name, "checked_at": act.now}
    act.edit(row, version, values, CHECK_LABELS)
    act.about = ("guest", str(row.guest_id))
    return row


def change_lead(act: Act, group_id: int, guest_id: int, kg: float) -> WeightsRow:
    """Give a guest of the group other lead at the water, in kg; earlier lead and its check stay to be read.

    Raises Refused on a day signed off or for a guest who is not booked, NotHere.
    """
    view = group_view(act.session, group_id)
    if guest_id not in _guests(view):
        raise NotHere(f"guest {guest_id} in group {group_id}")
    act.allow(may_put_right(closed_day(act.session, view.slot.day) is not None))
    return give_weights(act, guest_id, kg)


def _guests(view: GroupView) -> set[int | None]:
    return {one.guest.id for one in view.guests if one.guest is not None}
