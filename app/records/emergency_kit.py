"""The day's look at the emergency kit: the newest of the day counts, earlier ones stay to be read."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.records.shop import the_shop
from app.records.tables.days import DrillRow, EmergencyCheckRow
from app.rules.emergency_gate import EmergencyKitFacts
from app.rules.emergency_kit import KitItem, missing


@dataclass(frozen=True)
class KitCheck:
    """One check as it was answered."""

    row: EmergencyCheckRow
    present: frozenset[str]

    @property
    def missing(self) -> tuple[KitItem, ...]:
        """The items that were not there and working."""
        return missing(self.present)

    @property
    def at(self) -> datetime:
        """When it was stored."""
        return self.row.at


def checks_of(session: Session, day: date) -> list[KitCheck]:
    """Return the checks of a day, newest first."""
    found = (
        select(EmergencyCheckRow)
        .where(EmergencyCheckRow.day == day)
        .order_by(col(EmergencyCheckRow.id).desc())
    )
    return [_view(row) for row in session.exec(found)]


def check_of(session: Session, day: date) -> KitCheck | None:
    """Return the check that counts for a day; None while nobody looked."""
    found = checks_of(session, day)
    return found[0] if found else None


def newest_check(session: Session) -> KitCheck | None:
    """Return the newest check of any day: what is known of the oxygen cylinder's size."""
    row = session.exec(select(EmergencyCheckRow).order_by(col(EmergencyCheckRow.id).desc()).limit(1)).first()
    return None if row is None else _view(row)


def last_drill(session: Session) -> DrillRow | None:
    """Return the latest emergency drill on file."""
    found = select(DrillRow).order_by(col(DrillRow.held_on).desc(), col(DrillRow.id).desc()).limit(1)
    return session.exec(found).first()


def kit_facts(session: Session, day: date) -> EmergencyKitFacts:
    """Return what the gate at the water needs: the kit as the newest check of the day found it."""
    shop = the_shop(session)
    contacts = bool(shop.phone_ambulance and shop.phone_shop and shop.phone_dive_doctor)
    drill = last_drill(session)
    drilled = None if drill is None else drill.held_on
    check = check_of(session, day)
    if check is None:
        return EmergencyKitFacts(None, None, None, None, contacts, drilled)
    row = check.row
    return EmergencyKitFacts(row.day, row.by, check.present, row.oxygen_litres, contacts, drilled)


def _view(row: EmergencyCheckRow) -> KitCheck:
    return KitCheck(row, frozenset(row.present.split()))
