"""The day's look at the emergency kit: the newest of the day counts, earlier ones stay to be read."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.records.tables.days import EmergencyCheckRow
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


def _view(row: EmergencyCheckRow) -> KitCheck:
    return KitCheck(row, frozenset(row.present.split()))
