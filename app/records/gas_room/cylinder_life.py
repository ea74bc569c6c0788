"""One cylinder's life: its pressures over time, its dives, tests, and when it was set aside or away."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from itertools import chain

from sqlmodel import Session, col, select

from app.planning import air
from app.records.gas_room.gas_account import seas_of
from app.records.store.problems import NotHere
from app.records.tables.cylinders import (
    CylinderRow,
    CylinderTestRow,
    FillRow,
    QuarantineRow,
    ReadingRow,
    StationTripRow,
)
from app.records.tables.water import PressureRow

FILLED, READ, DRAINED, START, END = "filled", "read", "drained", "start of a dive", "end of a dive"
_MOMENTS = {"start": START, "end": END}


@dataclass(frozen=True)
class Point:
    """A pressure in bar at an instant, and what it was read for. from_bar: before a fill."""

    at: datetime
    bar: float
    what: str
    from_bar: float | None = None


@dataclass(frozen=True)
class Away:
    """A time in which the cylinder was set aside or at a test station; until None: still."""

    since: datetime
    until: datetime | None
    what: str
    why: str


@dataclass(frozen=True)
class Tested:
    """A test that the cylinder passed."""

    on: date
    what: str


@dataclass(frozen=True)
class Life:
    """What is on file of one cylinder from an instant on (None: from the beginning), oldest first.

    breathed_litres: of dives whose start and end were read, dry air at 1.01325 bar and 15 C.
    """

    row: CylinderRow
    points: tuple[Point, ...]
    away: tuple[Away, ...]
    tests: tuple[Tested, ...]
    breathed_litres: float

    @property
    def fills(self) -> int:
        """How often it was filled."""
        return sum(one.what == FILLED for one in self.points)

    @property
    def dives(self) -> int:
        """How many dives ended with it."""
        return sum(one.what == END for one in self.points)

    def days_since_test(self, today: date) -> int | None:
        """Days since somebody last tested it or looked inside; None while no test is on file."""
        known = [on for on in (self.row.last_visual, self.row.last_pressure_test) if on is not None]
        return (today - max(known)).days if known else None


def life_of(session: Session, cylinder_id: int, since: datetime | None) -> Life:
    """Return the life of a cylinder from an instant on, retired or not; raises NotHere."""
    row = session.get(CylinderRow, cylinder_id)
    if row is None:
        raise NotHere(f"cylinder {cylinder_id}")
    dives, breathed = _dives(session, row, since)
    points = sorted(
        chain(_fills(session, cylinder_id), _readings(session, cylinder_id), dives), key=lambda one: one.at
    )
    first_day = None if since is None else since.date()
    return Life(
        row,
        tuple(one for one in points if since is None or one.at >= since),
        tuple(one for one in _away(session, cylinder_id) if _still_seen(one, since)),
        tuple(one for one in _tests(session, row) if first_day is None or one.on >= first_day),
        breathed,
    )


def _still_seen(one: Away, since: datetime | None) -> bool:
    return since is None or one.until is None or one.until >= since


def _fills(session: Session, cylinder_id: int) -> Iterable[Point]:
    for row in session.exec(select(FillRow).where(FillRow.cylinder_id == cylinder_id)):
        yield Point(row.at, row.end_bar, FILLED, row.start_bar)


def _readings(session: Session, cylinder_id: int) -> Iterable[Point]:
    for row in session.exec(select(ReadingRow).where(ReadingRow.cylinder_id == cylinder_id)):
        yield Point(row.at, row.bar, DRAINED if row.why == "drained" else READ)


def _dives(session: Session, row: CylinderRow, since: datetime | None) -> tuple[list[Point], float]:
    """Start and end of each dive, as last put right at the time first read; and the litres breathed."""
    asked = select(PressureRow).where(PressureRow.cylinder_id == row.id).order_by(col(PressureRow.id))
    told: dict[tuple[int, str], Point] = {}
    for read in session.exec(asked):
        if read.moment in _MOMENTS:
            place = (read.member_id, read.moment)
            at = told[place].at if place in told else read.at
            told[place] = Point(at, read.bar, _MOMENTS[read.moment])
    seas = seas_of(session, {member for member, _ in told})
    grams = 0.0
    for (member, moment), end in told.items():
        start = told.get((member, "start"))
        if moment == "end" and start is not None and (since is None or end.at >= since):
            temp, around = seas[member]
            used = air.density(start.bar + around, temp) - air.density(end.bar + around, temp)
            grams += max(0.0, used) * row.litres
    return list(told.values()), grams / air.REFERENCE_DENSITY_G_L


def _away(session: Session, cylinder_id: int) -> Iterable[Away]:
    aside = select(QuarantineRow).where(QuarantineRow.cylinder_id == cylinder_id)
    for row in session.exec(aside.order_by(col(QuarantineRow.id))):
        yield Away(row.at, row.lifted_at, "set aside", row.why)
    trips = select(StationTripRow).where(StationTripRow.cylinder_id == cylinder_id)
    for trip in session.exec(trips.order_by(col(StationTripRow.id))):
        yield Away(trip.sent_at, trip.back_at, "at the test station", trip.station)


def _tests(session: Session, row: CylinderRow) -> list[Tested]:
    """Every test on file, each once: those written down one by one, and the last ones as stamped."""
    visual = {row.last_visual} if row.last_visual else set()
    pressure = {row.last_pressure_test} if row.last_pressure_test else set()
    for test in session.exec(select(CylinderTestRow).where(CylinderTestRow.cylinder_id == row.id)):
        visual |= {test.visual_on} if test.visual_on else set()
        pressure |= {test.pressure_on} if test.pressure_on else set()
    found = [Tested(on, "pressure test") for on in pressure]
    found += [Tested(on, "looked inside") for on in visual - pressure]
    return sorted(found, key=lambda one: one.on)
