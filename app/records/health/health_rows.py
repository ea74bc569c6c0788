"""Consents, letters, talks and places as stored, read for many guests at once."""

from collections.abc import Iterable
from datetime import date

from sqlmodel import Session, col, select

from app.records.tables.health import ConsentRow, LetterRow, TalkRow
from app.records.tables.health_day import ShoreLookRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import PartyRow, SlotRow
from app.rules.people import ShoreLook
from app.rules.shore_look import look_that_counts


def newest(consents: Iterable[ConsentRow], kind: str) -> ConsentRow | None:
    """Return the newest consent of a kind, given or refused."""
    return next((row for row in reversed(list(consents)) if row.kind == kind), None)


def consents_of(session: Session, guest_ref: str) -> list[ConsentRow]:
    """Return every consent of one guest, oldest first."""
    return consents_by_ref(session, [guest_ref]).get(guest_ref, [])


def letters_of(session: Session, guest_ref: str) -> list[LetterRow]:
    """Return every letter of one guest, oldest first."""
    return letters_by_ref(session, [guest_ref]).get(guest_ref, [])


def consents_by_ref(session: Session, refs: Iterable[str]) -> dict[str, list[ConsentRow]]:
    """Return the consents of several guests, oldest first, by guest reference."""
    asked = select(ConsentRow).where(col(ConsentRow.guest_ref).in_(list(refs)))
    found: dict[str, list[ConsentRow]] = {}
    for row in session.exec(asked.order_by(col(ConsentRow.id))):
        found.setdefault(row.guest_ref, []).append(row)
    return found


def letters_by_ref(session: Session, refs: Iterable[str]) -> dict[str, list[LetterRow]]:
    """Return the letters of several guests, oldest first, by guest reference."""
    asked = select(LetterRow).where(col(LetterRow.guest_ref).in_(list(refs)))
    found: dict[str, list[LetterRow]] = {}
    for row in session.exec(asked.order_by(col(LetterRow.id))):
        found.setdefault(row.guest_ref, []).append(row)
    return found


def talks_of_day(session: Session, refs: Iterable[str], day: date) -> dict[str, TalkRow]:
    """Return the newest talk of a day with each guest, by guest reference."""
    asked = select(TalkRow).where(col(TalkRow.guest_ref).in_(list(refs)), TalkRow.day == day)
    return {row.guest_ref: row for row in session.exec(asked.order_by(col(TalkRow.id)))}


def looks_of_day(session: Session, refs: Iterable[str], day: date) -> dict[str, ShoreLook]:
    """Return the look on shore that counts on a day for each guest looked at, by guest reference."""
    asked = select(ShoreLookRow).where(col(ShoreLookRow.guest_ref).in_(list(refs)), ShoreLookRow.day == day)
    found: dict[str, list[ShoreLook]] = {}
    for row in session.exec(asked.order_by(col(ShoreLookRow.id))):
        found.setdefault(row.guest_ref, []).append(ShoreLook(row.well, row.by, row.day, row.final))
    counting = {ref: look_that_counts(looks, day) for ref, looks in found.items()}
    return {ref: look for ref, look in counting.items() if look is not None}


def places_of(session: Session, party_ids: Iterable[int]) -> dict[int, tuple[SlotRow, SiteRow]]:
    """Return slot and site of several parties, by party number."""
    asked = (
        select(PartyRow.id, SlotRow, SiteRow)
        .join(SlotRow, col(SlotRow.id) == PartyRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(col(PartyRow.id).in_(list(party_ids)))
    )
    return {party_id or 0: (slot, site) for party_id, slot, site in session.exec(asked)}
