"""Who is signed in on which device: reading visits, devices and people."""

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlmodel import Session, col, func, select

from app.records.tables.people import DeviceRow, PersonRow, VisitRow, WrongTryRow

# Minutes without a touch after which a sign-in lapses, by kind of device; the usual clock for one not paired.
IDLE_MINUTES = {"tablet": 5, "phone": 5, "laptop": 15, "": 15}
GUEST_IDLE = timedelta(minutes=3)
# How a guest's visit began. A phone of the guest's own stays in the guest's pocket, not on the counter.
HANDED_OVER = "handed over"
OWN_PHONE = "own phone"
OWN_PHONE_IDLE = timedelta(minutes=20)
LONGEST = timedelta(hours=12)


def token_hash(token: str) -> str:
    """Return how a random token is stored (it is random, so a plain hash is enough)."""
    return hashlib.sha256(token.encode()).hexdigest()


@dataclass(frozen=True)
class Seen:
    """A visit as found: its row, its person or guest, its device, and whether it has lapsed."""

    visit: VisitRow
    person: PersonRow | None
    device: DeviceRow | None
    lapsed: bool


def find(session: Session, token: str, device: DeviceRow | None, now: datetime) -> Seen | None:
    """Return the visit of a cookie's token, lapsed or not; None when unknown or ended.

    On an ended device (given only where it may still ask) a visit of the team counts as lapsed.
    """
    visit = session.exec(select(VisitRow).where(VisitRow.token_hash == token_hash(token))).first()
    if visit is None or visit.ended_at is not None:
        return None
    person = session.get(PersonRow, visit.person_id) if visit.person_id else None
    if visit.kind == "staff" and (person is None or not person.active):
        return None
    if visit.device_id is not None and (device is None or device.id != visit.device_id):
        return None
    ended = device is not None and device.ended_at is not None
    if ended and (visit.kind != "staff" or now - visit.started_at > LONGEST):
        return None
    return Seen(visit, person, device, ended or _lapsed(visit, device, now))


def device_of(session: Session, token: str) -> DeviceRow | None:
    """Return the paired device of a device cookie, if it is still paired."""
    if not token:
        return None
    device = session.exec(select(DeviceRow).where(DeviceRow.token_hash == token_hash(token))).first()
    return device if device is not None and device.ended_at is None else None


def ended_device_of(session: Session, token: str) -> DeviceRow | None:
    """Return the device of a device cookie that the shop has ended; None for one still paired."""
    device = session.exec(select(DeviceRow).where(DeviceRow.token_hash == token_hash(token))).first()
    return device if device is not None and device.ended_at is not None else None


def team(session: Session) -> list[PersonRow]:
    """Return everybody who works here now, by name."""
    found = select(PersonRow).where(col(PersonRow.active)).order_by(PersonRow.name)
    return list(session.exec(found))


def everybody(session: Session) -> list[PersonRow]:
    """Return everybody who ever worked here: those who do first, then by name."""
    return list(session.exec(select(PersonRow).order_by(col(PersonRow.active).desc(), PersonRow.name)))


def guest_visits(session: Session, guest_id: int) -> list[VisitRow]:
    """Return the visits of a guest that were not ended, on whatever tablet."""
    found = select(VisitRow).where(VisitRow.guest_id == guest_id, col(VisitRow.ended_at).is_(None))
    return list(session.exec(found))


def devices(session: Session) -> list[DeviceRow]:
    """Return every device ever paired, newest first."""
    return list(session.exec(select(DeviceRow).order_by(col(DeviceRow.id).desc())))


def person_named(session: Session, name: str) -> PersonRow | None:
    """Return an active person by exact name, upper and lower case alike in every script."""
    # The store's own lower() knows only the letters of English.
    return next((one for one in team(session) if one.name.casefold() == name.casefold()), None)


def last_sign_in(session: Session, person_id: int) -> datetime | None:
    """Return when a person last signed in; None for never."""
    found = select(func.max(VisitRow.started_at)).where(VisitRow.person_id == person_id)
    newest: datetime | None = session.exec(found).one()
    return newest


def has_manager(session: Session) -> bool:
    """Return whether anybody may manage the shop."""
    return any("manager" in person.role_set() for person in team(session))


def wrong_tries(
    session: Session, *, who: str | None = None, device: str | None = None, since: datetime | None
) -> list[datetime]:
    """Return when wrong tries were made by a name, on a device, or both, oldest first (since None: ever)."""
    found = select(WrongTryRow.at)
    if since is not None:
        found = found.where(col(WrongTryRow.at) >= since)
    if who is not None:
        found = found.where(WrongTryRow.who == who)
    if device is not None:
        found = found.where(WrongTryRow.device == device)
    return list(session.exec(found.order_by(col(WrongTryRow.at))))


def _lapsed(visit: VisitRow, device: DeviceRow | None, now: datetime) -> bool:
    if visit.kind == "guest":
        return now - visit.seen_at > (OWN_PHONE_IDLE if visit.proof == OWN_PHONE else GUEST_IDLE)
    idle = timedelta(minutes=IDLE_MINUTES[device.kind if device else ""])
    return now - visit.seen_at > idle or now - visit.started_at > LONGEST
