"""Marking a party as here. It opens and closes nothing: it tells the team, and how long guests wait."""

from app.actions.act import Act
from app.records.setup.shop import closed_day
from app.records.tables.arrivals import ArrivalRow
from app.records.welcome import bookings
from app.records.welcome.arrivals import here_since
from app.rules.party_change import day_is_open


def mark_arrival(act: Act, party_id: int, *, here: bool) -> None:
    """Note that a party is here, or is not after all; the same word twice writes nothing.

    Raises NotHere for no such party, Refused when the day is signed off or the party does not come.
    """
    view = bookings.party_view(act.session, party_id)
    act.allow(day_is_open(closed_day(act.session, view.slot.slot.day) is not None))
    act.about = ("party", str(party_id))
    if here != (party_id in here_since(act.session, [view.party])):
        act.add(ArrivalRow(party_id=party_id, here=here, by=act.actor.name, at=act.now))
