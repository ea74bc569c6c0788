"""Signatures opened for one guest: only for the pages behind a logged look."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from app.records.health.health_forms import DRAWING, SIGNATURE, GuestForms, forms_of, owner
from app.records.health.health_rows import consents_of, newest
from app.records.setup.shop import the_shop
from app.records.store.house import House
from app.records.store.sealing import Sealed
from app.records.tables.parties import GuestRow
from app.rules.drawn_signature import path_of, read_strokes


@dataclass(frozen=True)
class OpenSignature:
    """One signature. whose: "guest" or "guardian". path: data of an SVG path, "" when nothing was drawn."""

    whose: str
    name: str
    path: str
    at: datetime | None


def signatures(session: Session, house: House, guest: GuestRow, day: date) -> list[OpenSignature]:
    """Return the signatures that count on a day: the guest's, then a guardian's."""
    form = forms_of(session, [guest.ref], day, the_shop(session).zone).get(guest.ref, GuestForms()).signed
    consents = consents_of(session, guest.ref)
    guardian, dive = newest(consents, "guardian"), newest(consents, "dive")
    found = []
    if form is not None:
        name = _open(house, guest, SIGNATURE, form.signature)
        at = dive.at if dive is not None and form.today_signed_for else form.history_signed_at
        found.append(OpenSignature("guest", name, _path(house, guest, form.drawing), at))
    if guardian is not None and guardian.given:
        name = _open(house, guest, "signed_name", guardian.signed_name)
        found.append(OpenSignature("guardian", name, _path(house, guest, guardian.drawing), guardian.at))
    return found


def _path(house: House, guest: GuestRow, sealed: str) -> str:
    return path_of(read_strokes(_open(house, guest, DRAWING, sealed)) or ())


def _open(house: House, guest: GuestRow, field: str, sealed: str) -> str:
    try:
        return house.ring.open(owner(guest.ref), field, sealed) if sealed else ""
    except (Sealed, ValueError):
        return ""
