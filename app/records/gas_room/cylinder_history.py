"""What happened to one cylinder, newest first, and what the compressor's hour meter showed."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, func, select

from app.records.gas_room.inspection import tests_of, trips_of
from app.records.tables.cylinders import AirTestRow, CompressorRow, FillRow, QuarantineRow, ReadingRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.water import PressureRow
from app.records.water_side.water import member_names

# Of the gas room's readings and of those at the water, by what they were read for.
WORDS = {
    "check": "Read",
    "start": "Start read",
    "during": "Read at the water",
    "turn": "Turn read",
    "end": "End read",
    "drained": "Drained",
}
MOST = 60


@dataclass(frozen=True)
class Entry:
    """One thing that happened to a cylinder. name: a person's name that belongs to it, shown apart."""

    at: datetime
    what: str
    detail: str
    by: str
    name: str = ""


def history(session: Session, cylinder_id: int) -> list[Entry]:
    """Return the newest entries of one cylinder: fills, readings, quarantines, who had it."""
    entries = [
        *_fills(session, cylinder_id),
        *_readings(session, cylinder_id),
        *_quarantines(session, cylinder_id),
        *_outs(session, cylinder_id),
        *_inspections(session, cylinder_id),
    ]
    return sorted(entries, key=lambda entry: entry.at, reverse=True)[:MOST]


def compressor_readings(session: Session, most: int = 12) -> list[CompressorRow]:
    """Return the compressor's newest hour meter readings, newest first."""
    found = select(CompressorRow).order_by(col(CompressorRow.id).desc()).limit(most)
    return list(session.exec(found))


def air_tested_on(session: Session) -> date | None:
    """Return the day of the compressor's newest passed air test; None when there is none on file."""
    return session.exec(select(func.max(AirTestRow.tested_on)).where(col(AirTestRow.passed))).one()


def _fills(session: Session, cylinder_id: int) -> list[Entry]:
    found = select(FillRow).where(FillRow.cylinder_id == cylinder_id)
    entries = []
    for row in session.exec(found.order_by(col(FillRow.id).desc()).limit(MOST)):
        co = "" if row.co_ppm is None else f", carbon monoxide {row.co_ppm:g} ppm"
        oxygen = "" if row.oxygen_percent is None else f", oxygen {row.oxygen_percent:g} %"
        detail = f"{row.start_bar:g} to {row.end_bar:g} bar, gas at {row.temp_c:g} °C{oxygen}{co}"
        entries.append(Entry(row.at, "Filled with air", detail, row.by))
    return entries


def _readings(session: Session, cylinder_id: int) -> list[Entry]:
    found = (
        select(ReadingRow)
        .where(ReadingRow.cylinder_id == cylinder_id)
        .order_by(col(ReadingRow.id).desc())
        .limit(MOST)
    )
    entries = []
    for row in session.exec(found):
        read = "" if row.read_unit == "bar" else f" (gauge: {row.read_value:g} {row.read_unit})"
        warm = "" if row.temp_c is None else f", gas at {row.temp_c:g} °C"
        entries.append(Entry(row.at, WORDS.get(row.why, "Read"), f"{row.bar:g} bar{read}{warm}", row.by))
    return entries


def _quarantines(session: Session, cylinder_id: int) -> list[Entry]:
    found = select(QuarantineRow).where(QuarantineRow.cylinder_id == cylinder_id)
    entries = []
    for row in session.exec(found):
        entries.append(Entry(row.at, "Set aside", row.why, row.by))
        if row.lifted_at is not None:
            entries.append(Entry(row.lifted_at, "Back in use", row.lifted_why, row.lifted_by))
    return entries


def _inspections(session: Session, cylinder_id: int) -> list[Entry]:
    entries = []
    for trip in trips_of(session, cylinder_id):
        entries.append(Entry(trip.sent_at, "Sent to the test station", trip.station, trip.sent_by))
        if trip.back_at is not None:
            detail = f"{trip.station}: {trip.outcome}"
            entries.append(Entry(trip.back_at, "Back from the test station", detail, trip.back_by))
    for row in tests_of(session, cylinder_id):
        looked = "" if row.visual_on is None else f"looked inside {row.visual_on.isoformat()}"
        tested = "" if row.pressure_on is None else f"pressure test {row.pressure_on.isoformat()}"
        said = ", ".join(words for words in (looked, tested, row.report) if words)
        entries.append(Entry(row.at, "Passed its inspection", said, row.by))
    return entries


def _outs(session: Session, cylinder_id: int) -> list[Entry]:
    found = (
        select(CylinderOutRow, MemberRow, GroupRow)
        .join(MemberRow, col(MemberRow.id) == CylinderOutRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .where(CylinderOutRow.cylinder_id == cylinder_id)
        .order_by(col(CylinderOutRow.id).desc())
        .limit(MOST)
    )
    rows = list(session.exec(found))
    names = member_names(session, [member for _, member, _ in rows])
    entries = []
    for out, member, group in rows:
        name = names.get(member.id or 0, "")
        entries.append(Entry(out.given_at, "Given out", group.name, out.given_by, name))
        if out.back_at is not None:
            entries.append(Entry(out.back_at, "Back", group.name, out.back_by, name))
    water = session.exec(
        select(PressureRow)
        .where(
            PressureRow.cylinder_id == cylinder_id,
            col(PressureRow.member_id).in_([member.id for _, member, _ in rows]),
        )
        .order_by(col(PressureRow.id).desc())
        .limit(MOST)
    )
    for row in water:
        detail = f"{row.bar:g} bar{', put right' if row.correction else ''}"
        entries.append(Entry(row.at, WORDS.get(row.moment, "Read"), detail, row.by))
    return entries
