"""Lead checked in the water, and what the gas room finds in the morning."""

from app.actions.gas_room import cylinders
from app.actions.kit_rail import kit, lead
from app.planning.units import AsRead
from app.planning.weight_checks import LEVEL, right_kg
from app.records.groups.groups import group_view
from app.records.kit_rail.kit import loans_of
from app.records.kit_rail.lead import lead_lines, suggest_lead
from app.records.welcome import bookings
from seed_demo.teller import Teller


def give_lead(story: Teller, guest_id: int) -> None:
    """Give a guest the lead that is suggested."""
    with story.act("Odile Marsh", "give_weights") as act:
        guest = bookings.guest(act.session, guest_id)
        slot = bookings.party_view(act.session, guest.party_id).slot
        has = loans_of(act.session, [guest_id]).get(guest_id, [])
        kit.give_weights(act, guest_id, suggest_lead(act.session, guest, slot, has).kg)


def check_lead(story: Teller, who: str, group_id: int, seen: dict[str, str]) -> None:
    """Check each guest named in the water; who does not hang level gets what is asked for, and then does."""
    for name, what in seen.items():
        _look(story, who, group_id, story.guests[name], what)
        if what != LEVEL:
            given = _now(story, group_id, story.guests[name])[2]
            with story.act(who, "change_lead") as act:
                lead.change_lead(act, group_id, story.guests[name], right_kg(given, what))
            _look(story, who, group_id, story.guests[name], LEVEL)


def morning_round(story: Teller, who: str) -> None:
    """Go round the gas room: a valve was knocked open over night, a cylinder is emptied to be looked into."""
    with story.act(who, "read_cylinder") as act:
        cylinders.add_reading(act, story.cylinders["A06"], AsRead.as_kept(130.0), temp_c=19)
    with story.act(who, "drain_cylinder") as act:
        cylinders.drain(act, story.cylinders["T05"])


def _look(story: Teller, who: str, group_id: int, guest_id: int, what: str) -> None:
    number, version, _ = _now(story, group_id, guest_id)
    with story.act(who, "check_float") as act:
        lead.check_float(act, group_id, number, version, what)


def _now(story: Teller, group_id: int, guest_id: int) -> tuple[int, int, float]:
    """Return number, version and kilograms of the lead that a guest has."""
    with story.house.store.reading() as session:
        line = lead_lines(session, [guest_id], group_view(session, group_id).slot.id or 0)[guest_id]
    if line.now is None:
        raise ValueError("no lead was given yet")
    return line.now.id or 0, line.now.version, line.now.given_kg
