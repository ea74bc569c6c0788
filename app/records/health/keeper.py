"""What waits for the keeper of health records, told without a health word and without a guest's name."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import Session, col, func, select

from app.records.health.health_reads import ANSWERS
from app.records.health.letters import to_record
from app.records.health.retention import NOT_NEEDED, hold_steps, holds_now
from app.records.setup.shop import limits_now
from app.records.setup.visits import team
from app.records.tables.days import IncidentRow
from app.records.tables.groups import MemberRow
from app.records.tables.health import HealthReadRow
from app.records.tables.parties import GuestRow
from app.records.tables.people import DeviceRow, PersonRow, VisitRow
from app.records.tables.privacy import (
    BreachRow,
    BreachStepRow,
    HoldRow,
    LookReviewRow,
    SecrecyRow,
    StageRow,
    TidyRow,
)
from app.rules.choices import SECRECY_VERSION
from app.rules.limits import BREACH_TELL_WITHIN, LOOKS_REVIEW_EVERY
from app.rules.retention import Stage

# Roles that may open health data, and so promise secrecy.
OPENS = frozenset({"instructor", "lead", "keeper"})
KEEPER = "keeper"
# Letters of guests whose day is longer ago change nothing any more.
LETTERS_SHOWN = timedelta(days=30)
# Looks on one page; whoever lets more of them wait looks through the newest.
SHOWN_MOST = 100
TOLD = ("authority told", "authority not told")


@dataclass(frozen=True)
class Promise:
    """A person who may open health data, and when secrecy was promised; None while it was not."""

    person: PersonRow
    signed_on: date | None


@dataclass(frozen=True)
class EmergencyLook:
    """An emergency look, the guest's number if the guest is there, and its review if there is one."""

    row: HealthReadRow
    guest: GuestRow | None
    review: LookReviewRow | None


@dataclass(frozen=True)
class LogState:
    """The log of looks: how many were not looked through, and since when somebody should have."""

    waiting: int
    newest_id: int
    last: LookReviewRow | None
    due_at: datetime | None

    def overdue(self, now: datetime) -> bool:
        """Whether the log should have been looked through by now."""
        return self.due_at is not None and now > self.due_at


@dataclass(frozen=True)
class BreachView:
    """A breach with its steps. tell_by: when the authority has to know at the latest."""

    row: BreachRow
    steps: tuple[BreachStepRow, ...]
    tell_by: datetime

    @property
    def settled(self) -> bool:
        """Whether it was decided and written down whether the authority is told."""
        return any(one.step in TOLD for one in self.steps)

    @property
    def closed(self) -> bool:
        """Whether nothing is left to do."""
        return any(one.step == "closed" for one in self.steps)


def promises(session: Session) -> list[Promise]:
    """Return everybody who may open health data, with the day of the promise in today's words."""
    asked = select(SecrecyRow).where(SecrecyRow.text_version == SECRECY_VERSION).order_by(col(SecrecyRow.id))
    signed = {row.person_id: row.signed_on for row in session.exec(asked)}
    return [Promise(one, signed.get(one.id or 0)) for one in team(session) if one.role_set() & OPENS]


def promised(session: Session, person_id: int | None) -> date | None:
    """Return when a person promised secrecy in today's words; None for never."""
    asked = select(col(SecrecyRow.signed_on)).where(
        SecrecyRow.person_id == person_id, SecrecyRow.text_version == SECRECY_VERSION
    )
    return session.exec(asked.order_by(col(SecrecyRow.id).desc())).first()


def keepers(session: Session) -> list[PersonRow]:
    """Return everybody who works here and keeps health records."""
    return [one for one in team(session) if KEEPER in one.role_set()]


def log_state(session: Session) -> LogState:
    """Return how far the log of looks was looked through."""
    asked = select(LookReviewRow).where(col(LookReviewRow.up_to_id).is_not(None))
    last = session.exec(asked.order_by(col(LookReviewRow.id).desc()).limit(1)).first()
    seen = 0 if last is None else last.up_to_id or 0
    after = select(func.count(col(HealthReadRow.id)), func.min(HealthReadRow.at), func.max(HealthReadRow.id))
    waiting, oldest, newest = session.exec(after.where(col(HealthReadRow.id) > seen)).one()
    days = timedelta(days=limits_now(session)[LOOKS_REVIEW_EVERY].number or 0)
    return LogState(waiting, newest or seen, last, None if oldest is None else oldest + days)


def looks_since_review(session: Session, log: LogState) -> list[tuple[HealthReadRow, int | None]]:
    """Return the looks that were not looked through yet with the guest's number, newest first."""
    seen = 0 if log.last is None else log.last.up_to_id or 0
    asked = (
        select(HealthReadRow, GuestRow.id)
        .join(GuestRow, col(GuestRow.ref) == HealthReadRow.guest_ref, isouter=True)
        .where(col(HealthReadRow.id) > seen, col(HealthReadRow.id) <= log.newest_id)
        .order_by(col(HealthReadRow.id).desc())
        .limit(SHOWN_MOST)
    )
    return list(session.exec(asked))


def emergency_looks(session: Session, since: datetime) -> list[EmergencyLook]:
    """Return the emergency looks since an instant, and older ones that nobody reviewed; newest first."""
    asked = (
        select(HealthReadRow, GuestRow, LookReviewRow)
        .join(GuestRow, col(GuestRow.ref) == HealthReadRow.guest_ref, isouter=True)
        .join(LookReviewRow, col(LookReviewRow.look_id) == HealthReadRow.id, isouter=True)
        .where(HealthReadRow.kind == ANSWERS)
        .where((col(HealthReadRow.at) >= since) | col(LookReviewRow.id).is_(None))
        .order_by(col(HealthReadRow.id).desc())
    )
    found = {look.id: EmergencyLook(look, guest, review) for look, guest, review in session.exec(asked)}
    return list(found.values())


def waiting(session: Session, today: date, now: datetime) -> list[str]:
    """Return what waits for the keeper in a few words each, without a name."""
    log = log_state(session)
    counted = (
        (len(to_record(session, today - LETTERS_SHOWN)), "to record", "letter"),
        (sum(one.review is None for one in emergency_looks(session, now)), "to review", "emergency look"),
        (sum(not one.closed for one in breaches(session)), "not closed", "breach"),
        (len([row for row in holds_now(session) if row.check_by and row.check_by <= today]), "again", "hold"),
    )
    said = [f"{count} {what}{_many(what, count)} {todo}" for count, todo, what in counted if count]
    return [*said, "the weekly review of looks"] if log.overdue(now) else said


def _many(what: str, count: int) -> str:
    return "" if count == 1 else "es" if what.endswith("ch") else "s"


def without_hold(session: Session) -> list[tuple[IncidentRow, GuestRow]]:
    """Return incidents that name a guest about whom nobody has decided on a legal hold yet, newest first."""
    decided = select(HoldRow.guest_ref)
    erased = select(StageRow.guest_ref).where(StageRow.stage == str(Stage.ERASED))
    asked = (
        select(IncidentRow, GuestRow)
        .join(MemberRow, col(MemberRow.id) == IncidentRow.member_id)
        .join(GuestRow, col(GuestRow.id) == MemberRow.guest_id)
        .where(col(GuestRow.ref).not_in(decided), col(GuestRow.ref).not_in(erased))
        .order_by(col(IncidentRow.id).desc())
    )
    found: dict[int, tuple[IncidentRow, GuestRow]] = {}
    for incident, guest in session.exec(asked):
        found.setdefault(guest.id or 0, (incident, guest))
    return list(found.values())


def guests_by_ref(session: Session, refs: list[str]) -> dict[str, GuestRow]:
    """Return guests by their random reference."""
    return {row.ref: row for row in session.exec(select(GuestRow).where(col(GuestRow.ref).in_(refs)))}


def suggested(session: Session, guest: GuestRow) -> list[IncidentRow]:
    """Return the incidents that name a guest, unless a hold was decided on."""
    if any(step.step == NOT_NEEDED for step in hold_steps(session, guest.ref)):
        return []
    asked = select(IncidentRow).join(MemberRow, col(MemberRow.id) == IncidentRow.member_id)
    return list(session.exec(asked.where(MemberRow.guest_id == guest.id).order_by(col(IncidentRow.id))))


def last_tidy(session: Session) -> TidyRow | None:
    """Return the counts of the newest run of keeping and erasing."""
    return session.exec(select(TidyRow).order_by(col(TidyRow.id).desc()).limit(1)).first()


def breaches(session: Session) -> list[BreachView]:
    """Return every breach with its steps, open ones first, then newest first."""
    steps: dict[int, list[BreachStepRow]] = {}
    for step in session.exec(select(BreachStepRow).order_by(col(BreachStepRow.id))):
        steps.setdefault(step.breach_id, []).append(step)
    hours = timedelta(hours=limits_now(session)[BREACH_TELL_WITHIN].number or 0)
    rows = session.exec(select(BreachRow).order_by(col(BreachRow.id).desc()))
    found = [BreachView(row, tuple(steps.get(row.id or 0, ())), row.known_at + hours) for row in rows]
    return sorted(found, key=lambda one: one.closed)


def affected(session: Session, breach: BreachRow) -> list[GuestRow]:
    """Return the guests whose data may be part of a breach: on the device, or opened by the person."""
    first = breach.from_at or datetime.min.replace(tzinfo=breach.at.tzinfo)
    last = breach.to_at or breach.at
    found: dict[int, GuestRow] = {}
    if breach.device_id is not None:
        own = (
            select(GuestRow)
            .join(VisitRow, col(VisitRow.guest_id) == GuestRow.id)
            .where(VisitRow.device_id == breach.device_id, col(VisitRow.started_at).between(first, last))
        )
        found |= {row.id or 0: row for row in session.exec(own)}
        found |= _opened(session, _people_on(session, breach.device_id, first, last), first, last)
    if breach.person_id is not None:
        found |= _opened(session, [breach.person_id], first, last)
    return [found[number] for number in sorted(found)]


def devices_and_people(session: Session) -> tuple[list[DeviceRow], list[PersonRow]]:
    """Return every device ever paired and everybody who ever worked here, for naming one in a breach."""
    devices = list(session.exec(select(DeviceRow).order_by(col(DeviceRow.id).desc())))
    return devices, list(session.exec(select(PersonRow).order_by(PersonRow.name)))


def _people_on(session: Session, device_id: int, first: datetime, last: datetime) -> list[int]:
    """Return who was signed in on a device: what they opened there in that time was on its screen."""
    asked = select(VisitRow.person_id).where(
        VisitRow.device_id == device_id, col(VisitRow.started_at) <= last, col(VisitRow.seen_at) >= first
    )
    return [number for number in session.exec(asked.distinct()) if number is not None]


def _opened(session: Session, people: list[int], first: datetime, last: datetime) -> dict[int, GuestRow]:
    asked = (
        select(GuestRow)
        .join(HealthReadRow, col(HealthReadRow.guest_ref) == GuestRow.ref)
        .where(col(HealthReadRow.person_id).in_(people), col(HealthReadRow.at).between(first, last))
    )
    return {row.id or 0: row for row in session.exec(asked)}
