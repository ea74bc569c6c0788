"""Who may see what of a guest's health record, and every look at it that was logged."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.health import HealthReadRow, TalkRow
from app.records.tables.parties import GuestRow, SlotRow
from app.records.welcome.bookings import guest, party_view

# Kinds of entries in the log of looks; some of them are a keeper's acts.
REASONS, ANSWERS, LETTER, SLIP = "reasons", "answers", "letter", "slip"
# A page was opened; a second person compared a letter; the lead's half of undoing a slip.
SCAN, COMPARE, LEAD_SLIP = "scan", "compare", "slip, as lead"
AS_KEEPER = (LETTER, SLIP)


@dataclass(frozen=True)
class Look:
    """One look at a health record, with the guest it was about (by number, never by name)."""

    row: HealthReadRow
    guest_id: int | None


def guest_on(session: Session, guest_id: int) -> tuple[GuestRow, date]:
    """Return a guest and the day of the booked slot; raises NotHere."""
    row = guest(session, guest_id)
    return row, party_view(session, row.party_id).slot.slot.day


def guided_by(session: Session, person_id: int | None, guest_id: int, day: date) -> bool:
    """Return whether a person guides or assists the group that a guest is in on a day."""
    if person_id is None:
        return False
    mine = (
        select(MemberRow.group_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .where(MemberRow.person_id == person_id, col(MemberRow.left_at).is_(None), SlotRow.day == day)
    )
    theirs = select(MemberRow.id).where(
        MemberRow.guest_id == guest_id, col(MemberRow.left_at).is_(None), col(MemberRow.group_id).in_(mine)
    )
    return session.exec(theirs).first() is not None


def kept_by(session: Session, guest_ref: str, person_id: int | None) -> bool:
    """Return whether a person acted as keeper for a guest: a letter or an honest slip."""
    asked = select(HealthReadRow.id).where(
        HealthReadRow.guest_ref == guest_ref,
        HealthReadRow.person_id == person_id,
        col(HealthReadRow.kind).in_(AS_KEEPER),
    )
    return session.exec(asked).first() is not None


def opened_scan(session: Session, guest_ref: str, person_id: int | None, since: datetime) -> bool:
    """Return whether a person opened a page of a guest's letters since an instant."""
    asked = select(HealthReadRow.id).where(
        HealthReadRow.guest_ref == guest_ref,
        HealthReadRow.person_id == person_id,
        HealthReadRow.kind == SCAN,
        col(HealthReadRow.at) >= since,
    )
    return session.exec(asked).first() is not None


def talked_with(session: Session, guest_ref: str, person_id: int | None) -> bool:
    """Return whether a person ever settled a talk with a guest (stopping one is open to all)."""
    asked = select(TalkRow.id).where(
        TalkRow.guest_ref == guest_ref, TalkRow.by_id == person_id, TalkRow.decision != "ashore"
    )
    return session.exec(asked).first() is not None


def looks(session: Session, since: datetime, kind: str | None = None) -> list[Look]:
    """Return the looks since an instant, newest first: who, when, which guest by number, what kind, why."""
    asked = (
        select(HealthReadRow, GuestRow.id)
        .join(GuestRow, col(GuestRow.ref) == HealthReadRow.guest_ref, isouter=True)
        .where(col(HealthReadRow.at) >= since)
    )
    if kind is not None:
        asked = asked.where(HealthReadRow.kind == kind)
    return [Look(row, number) for row, number in session.exec(asked.order_by(col(HealthReadRow.id).desc()))]
