"""The health day on shore as stored: who told a guest the result, who asks for a look, slips half undone."""

from collections.abc import Iterable
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.records.health.health_forms import owner
from app.records.store.house import House
from app.records.store.sealing import Sealed
from app.records.tables.health import HealthFormRow
from app.records.tables.health_day import ShoreLookRow, TodaySlipRow, ToldRow
from app.records.tables.parties import GuestRow, PartyRow, SlotRow
from app.rules.shore_look import POINTS

TOLD, ASKS_LOOK, LOOKED = "told", "asks-look", "looked"


def told_since(session: Session, guest_ref: str, day: date, since: datetime) -> bool:
    """Return whether anybody told a guest a result on a day, from an instant on."""
    asked = select(ToldRow.id).where(
        ToldRow.guest_ref == guest_ref,
        ToldRow.day == day,
        ToldRow.step == TOLD,
        col(ToldRow.at) >= since,
    )
    return session.exec(asked).first() is not None


def told_about(session: Session, guest_ref: str, about: str) -> ToldRow | None:
    """Return who explained this very result, last."""
    asked = select(ToldRow).where(
        ToldRow.guest_ref == guest_ref, ToldRow.about == about, ToldRow.step == TOLD
    )
    return session.exec(asked.order_by(col(ToldRow.id).desc())).first()


def look_asked(session: Session, refs: Iterable[str], day: date) -> dict[str, ToldRow]:
    """Return the guests who asked on a day for a person to look again, while nobody has, by reference."""
    asked = select(ToldRow).where(
        col(ToldRow.guest_ref).in_(list(refs)), ToldRow.day == day, ToldRow.step != TOLD
    )
    newest = {row.guest_ref: row for row in session.exec(asked.order_by(col(ToldRow.id)))}
    return {ref: row for ref, row in newest.items() if row.step == ASKS_LOOK}


def guests_of_day(session: Session, day: date) -> list[GuestRow]:
    """Return everybody booked for a day."""
    asked = (
        select(GuestRow)
        .join(PartyRow, col(PartyRow.id) == GuestRow.party_id)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .where(SlotRow.day == day)
        .order_by(col(GuestRow.id))
    )
    return list(session.exec(asked))


def slips_begun(session: Session, house: House, form: HealthFormRow) -> dict[str, TodaySlipRow]:
    """Return the half-undone slips of one form, by code of the answer."""
    asked = select(TodaySlipRow).where(TodaySlipRow.form_id == form.id).order_by(col(TodaySlipRow.id))
    rows = list(session.exec(asked))
    ended = {row.after_id for row in rows if row.after_id is not None}
    found: dict[str, TodaySlipRow] = {}
    for row in rows:
        if row.after_id is None and row.id not in ended:
            try:
                found[house.ring.open(owner(form.guest_ref), "slip", row.code).strip()] = row
            except (Sealed, ValueError):
                continue
    return found


def slip_begun(session: Session, house: House, form: HealthFormRow, code: str) -> TodaySlipRow | None:
    """Return the first person's word about one answer; None while nobody said that it was a slip."""
    return slips_begun(session, house, form).get(code)


def slips_waiting(session: Session, since: datetime) -> list[tuple[TodaySlipRow, GuestRow]]:
    """Return first words since an instant that no second person has joined, with their guests."""
    asked = (
        select(TodaySlipRow, GuestRow)
        .join(GuestRow, col(GuestRow.ref) == TodaySlipRow.guest_ref)
        .where(col(TodaySlipRow.at) >= since)
        .order_by(col(TodaySlipRow.id))
    )
    rows = list(session.exec(asked))
    ended = {row.after_id for row, _ in rows if row.after_id is not None}
    return [(row, guest) for row, guest in rows if row.after_id is None and row.id not in ended]


def points_seen(session: Session, house: House, guest_ref: str, day: date) -> list[str]:
    """Return in words what was not in order at the newest look of a day that found something."""
    asked = select(ShoreLookRow).where(
        ShoreLookRow.guest_ref == guest_ref, ShoreLookRow.day == day, col(ShoreLookRow.well).is_(False)
    )
    row = session.exec(asked.order_by(col(ShoreLookRow.id).desc())).first()
    if row is None:
        return []
    try:
        keys = house.ring.open(owner(guest_ref), "shore-look", row.points).split()
    except (Sealed, ValueError):
        return ["cannot be read"]
    return [POINTS[key].words for key in keys if key in POINTS]
