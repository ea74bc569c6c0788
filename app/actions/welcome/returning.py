"""Saying that a guest was here before, taking that back, and using the sizes of then.

Health is asked afresh: a signed health history counts for its days for the booking in which it was signed.
A new booking is a new row with a reference and a key of its own, so nothing of health can follow a link.
"""

from app.actions.act import Act, Invalid
from app.records.setup.shop import closed_day
from app.records.store.problems import NotHere
from app.records.tables.parties import GuestRow
from app.records.tables.returning import GuestLinkRow
from app.records.welcome.bookings import party_view
from app.records.welcome.returning import Sizes, earlier_visits, is_erased, own_links, sizes_offered
from app.records.welcome.same_person import OTHER, SAME, same_person
from app.rules.party_change import day_is_open

SIZE_LABELS = {"height_cm": "Height in cm", "mass_kg": "Weight in kg", "shoe_size": "Shoe size"}


def link_guest(act: Act, guest_id: int, earlier_id: int) -> GuestLinkRow | None:
    """Write that a guest is the same person as on an earlier visit; None where that is known already.

    Raises NotHere, and Invalid for a visit that is not earlier.
    """
    guest, earlier = act.get(GuestRow, guest_id), act.get(GuestRow, earlier_id)
    if is_erased(earlier):
        raise NotHere("nobody of that number any more")
    days = [party_view(act.session, one.party_id).slot.slot.day for one in (guest, earlier)]
    if guest_id == earlier_id or days[1] > days[0]:
        raise Invalid({"earlier": "Choose a visit before this one."})
    act.about = ("guest", str(guest_id))
    if earlier_id in same_person(act.session, [guest_id])[guest_id]:
        return None
    return _say(act, guest_id, earlier_id, SAME)


def unlink_guest(act: Act, guest_id: int, earlier_id: int) -> GuestLinkRow:
    """Write that a guest is not the same person after all; raises NotHere where no link stands."""
    row = own_links(act.session, guest_id).get(earlier_id)
    if row is None:
        raise NotHere("no such link")
    act.about = ("guest", str(guest_id))
    return _say(act, row.guest_id, row.earlier_id, OTHER)


def use_sizes(act: Act, guest_id: int, version: int, earlier_id: int) -> Sizes:
    """Write the sizes of an earlier visit as this guest's own; raises NotHere, Clash, Invalid for a child."""
    guest = act.get(GuestRow, guest_id)
    day = party_view(act.session, guest.party_id).slot.slot.day
    act.allow(day_is_open(closed_day(act.session, day) is not None))
    visits = [one for one in earlier_visits(act.session, guest) if one.day <= day]
    sizes, child = sizes_offered(act.session, visits, day)
    if child:
        raise Invalid({"form": "Children grow. Measure again."})
    if sizes is None or sizes.guest_id != earlier_id:
        raise NotHere("no such sizes")
    values = {"height_cm": sizes.height_cm, "mass_kg": sizes.mass_kg, "shoe_size": sizes.shoe_size}
    act.edit(guest, version, values, SIZE_LABELS)
    act.about = ("guest", str(guest_id))
    return sizes


def _say(act: Act, guest_id: int, earlier_id: int, said: str) -> GuestLinkRow:
    return act.add(
        GuestLinkRow(
            guest_id=guest_id,
            earlier_id=earlier_id,
            said=said,
            at=act.now,
            by_id=act.actor.person_id,
            by=act.actor.name,
        )
    )
