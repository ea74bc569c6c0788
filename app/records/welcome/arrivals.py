"""Which parties are at the shop, and since when."""

from collections.abc import Iterable
from datetime import datetime

from sqlmodel import Session, col, select

from app.records.tables.arrivals import ArrivalRow
from app.records.tables.parties import PartyRow


def here_since(session: Session, parties: Iterable[PartyRow]) -> dict[int, datetime]:
    """Return when parties arrived, by party number; walk-ins arrived when they booked.

    A party that nobody marked, or that is not here after all, has no entry.
    """
    rows = list(parties)
    asked = select(ArrivalRow).where(col(ArrivalRow.party_id).in_([row.id for row in rows]))
    return _since(rows, session.exec(asked.order_by(col(ArrivalRow.id))))


def here_between(
    session: Session, parties: Iterable[PartyRow], begin: datetime, end: datetime
) -> dict[int, datetime]:
    """Return the same for many parties, by what was marked from one instant to before another."""
    asked = select(ArrivalRow).where(col(ArrivalRow.at) >= begin, col(ArrivalRow.at) < end)
    return _since(list(parties), session.exec(asked.order_by(col(ArrivalRow.id))))


def _since(parties: Iterable[PartyRow], marks: Iterable[ArrivalRow]) -> dict[int, datetime]:
    since = {row.id or 0: row.booked_at for row in parties if row.walk_in}
    for told in marks:
        if told.here:
            since[told.party_id] = told.at
        else:
            since.pop(told.party_id, None)
    return since
