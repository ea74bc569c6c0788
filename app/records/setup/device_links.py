"""Links that pair a phone: which are open, how one stands, and the phones that they paired."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlmodel import Session, col, func, select

from app.records.setup.visits import token_hash
from app.records.tables.device_links import DeviceLinkRow
from app.records.tables.people import DeviceRow, PersonRow, VisitRow, WrongTryRow

GOOD_FOR = timedelta(minutes=10)
TRIES = 5
# Under which place wrong digits are counted; the address of who typed them follows.
PLACE = "link-digits:"
OPEN, USED, ENDED, EXPIRED, GUESSED = "open", "used", "ended", "expired", "guessed"


@dataclass(frozen=True)
class LinkedPhone:
    """A phone that a link paired. person: whose it usually is; seen_at: when anybody last used it."""

    device: DeviceRow
    person: PersonRow | None
    seen_at: datetime | None


def state_of(session: Session, row: DeviceLinkRow, now: datetime) -> str:
    """Return how a link stands: open, used, ended, expired, or guessed at too often."""
    if row.used_at is not None:
        return USED
    if row.ended_at is not None:
        return ENDED
    if now - row.made_at >= GOOD_FOR:
        return EXPIRED
    return GUESSED if tries_since(session, row.tries_from) >= TRIES else OPEN


def link_of(session: Session, token: str) -> DeviceLinkRow | None:
    """Return the link of a scanned code, open or not; None for one that nobody made."""
    return session.exec(select(DeviceLinkRow).where(DeviceLinkRow.token_hash == token_hash(token))).first()


def open_links(session: Session, now: datetime) -> list[DeviceLinkRow]:
    """Return the links that can still be used."""
    found = select(DeviceLinkRow).where(
        col(DeviceLinkRow.used_at).is_(None),
        col(DeviceLinkRow.ended_at).is_(None),
        DeviceLinkRow.made_at > now - GOOD_FOR,
    )
    return [row for row in session.exec(found) if state_of(session, row, now) == OPEN]


def newest_try(session: Session) -> int:
    """Return the number of the newest wrong try of any kind; 0 before the first."""
    return session.exec(select(func.max(WrongTryRow.id))).one() or 0


def tries_since(session: Session, number: int) -> int:
    """Return how many times wrong digits were typed, anywhere, after a numbered try."""
    found = select(func.count()).where(
        col(WrongTryRow.id) > number, col(WrongTryRow.device).startswith(PLACE)
    )
    return session.exec(found).one()


def linked_phones(session: Session) -> list[LinkedPhone]:
    """Return the phones that links paired: those in use first, then by name."""
    seen = seen_of_devices(session)
    found = (
        select(DeviceRow, PersonRow)
        .join(DeviceLinkRow, col(DeviceLinkRow.device_id) == DeviceRow.id)
        .join(PersonRow, col(PersonRow.id) == DeviceLinkRow.person_id, isouter=True)
        .order_by(col(DeviceRow.ended_at).is_not(None), DeviceRow.name, col(DeviceRow.id))
    )
    return [LinkedPhone(one, who, seen.get(one.id or 0)) for one, who in session.exec(found)]


def seen_of_devices(session: Session) -> dict[int, datetime]:
    """Return when each device was last used by somebody signed in."""
    found = select(VisitRow.device_id, func.max(VisitRow.seen_at)).group_by(col(VisitRow.device_id))
    return {device_id: at for device_id, at in session.exec(found) if device_id is not None}
