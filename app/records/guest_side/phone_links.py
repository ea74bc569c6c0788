"""Links to a guest's own phone: which one is out, and what an opened one leads to."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.records.guest_side.guest_form import GuestForm, guest_form
from app.records.setup.visits import token_hash
from app.records.store.house import House
from app.records.store.problems import NotHere
from app.records.tables.phone_links import PhoneLinkRow


@dataclass(frozen=True)
class Opened:
    """What stands behind an opened link. row: None for a link that nobody made.

    form: where the guest is; None when the link is dead: used, ended, signed, or its day is over.
    """

    row: PhoneLinkRow | None
    form: GuestForm | None


def opened(session: Session, house: House, token: str, now: datetime) -> Opened:
    """Return what a link leads to. Looking changes nothing."""
    found = select(PhoneLinkRow).where(PhoneLinkRow.token_hash == token_hash(token))
    row = session.exec(found).first()
    if row is None or row.used_at is not None or row.ended_at is not None:
        return Opened(row, None)
    try:
        form = guest_form(session, house, row.guest_id, now)
    except NotHere:
        return Opened(row, None)
    return Opened(row, None if form.all_signed else form)


def live_links(session: Session, guest_id: int) -> list[PhoneLinkRow]:
    """Return a guest's links that were not ended, used or not, oldest first."""
    found = select(PhoneLinkRow).where(
        PhoneLinkRow.guest_id == guest_id, col(PhoneLinkRow.ended_at).is_(None)
    )
    return list(session.exec(found.order_by(col(PhoneLinkRow.id))))


def newest_link(session: Session, guest_id: int) -> PhoneLinkRow | None:
    """Return the link made last for a guest; None when none was ever made."""
    found = select(PhoneLinkRow).where(PhoneLinkRow.guest_id == guest_id)
    return session.exec(found.order_by(col(PhoneLinkRow.id).desc()).limit(1)).first()
