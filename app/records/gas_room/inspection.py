"""Cylinders and their inspections as read: which rules the shop follows, what is away, what was tested."""

from collections.abc import Iterable

from sqlmodel import Session, col, select

from app.records.setup.shop import shop_row
from app.records.tables.cylinders import CylinderTestRow, StationTripRow
from app.rules.inspection import GENERAL


def shops_inspection(session: Session) -> str:
    """Return which country's inspection rules the shop follows, by key."""
    row = shop_row(session)
    return GENERAL if row is None else row.cylinder_inspection


def open_trips(session: Session, ids: Iterable[int] | None = None) -> dict[int, StationTripRow]:
    """Return the trips of cylinders that are at a test station now, by cylinder."""
    found = select(StationTripRow).where(col(StationTripRow.back_at).is_(None))
    if ids is not None:
        found = found.where(col(StationTripRow.cylinder_id).in_(list(ids)))
    return {row.cylinder_id: row for row in session.exec(found.order_by(col(StationTripRow.id)))}


def trips_of(session: Session, cylinder_id: int) -> list[StationTripRow]:
    """Return every trip of one cylinder to a test station, newest first."""
    found = select(StationTripRow).where(StationTripRow.cylinder_id == cylinder_id)
    return list(session.exec(found.order_by(col(StationTripRow.id).desc())))


def tests_of(session: Session, cylinder_id: int) -> list[CylinderTestRow]:
    """Return every passed inspection of one cylinder that was written down, newest first."""
    found = select(CylinderTestRow).where(CylinderTestRow.cylinder_id == cylinder_id)
    return list(session.exec(found.order_by(col(CylinderTestRow.id).desc())))


def last_station(session: Session) -> str:
    """Return the test station that cylinders went to last; empty when none ever did."""
    row = session.exec(select(StationTripRow).order_by(col(StationTripRow.id).desc()).limit(1)).first()
    return "" if row is None else row.station
