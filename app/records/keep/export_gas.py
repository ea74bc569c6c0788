"""What leaves the shop of its gas: fills, cylinders and their tests, cylinders set aside, the compressor."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.records.gas_room.compressor import FILTER
from app.records.keep.export_dives import AIR
from app.records.keep.export_table import ExportTable, Scope, Value, rounded, table
from app.records.tables.compressor import CompressorServiceRow
from app.records.tables.cylinders import (
    AirTestRow,
    CompressorRow,
    CylinderRow,
    CylinderTestRow,
    FillRow,
    QuarantineRow,
)


def fills(scope: Scope) -> ExportTable:
    """Return every fill of the days, with the compressor and its filter as they stood."""
    asked = (
        select(FillRow, CylinderRow)
        .join(CylinderRow, col(CylinderRow.id) == FillRow.cylinder_id)
        .where(col(FillRow.at) >= scope.begin, col(FillRow.at) < scope.end)
        .order_by(col(FillRow.at), col(FillRow.id))
    )
    meter = _Meter.of(scope.session)
    aside = list(scope.session.exec(select(QuarantineRow)))
    return table(
        "fills",
        "Fills",
        scope.session.exec(asked),
        (
            ("At", lambda row: scope.local(row[0].at)),
            ("Cylinder", lambda row: row[1].number),
            ("Size (L)", lambda row: row[1].litres),
            ("Working pressure (bar)", lambda row: row[1].working_pressure_bar),
            ("Looked inside on", lambda row: row[1].last_visual),
            ("Pressure tested on", lambda row: row[1].last_pressure_test),
            ("From (bar)", lambda row: row[0].start_bar),
            ("To (bar)", lambda row: row[0].end_bar),
            ("Gas after filling (°C)", lambda row: row[0].temp_c),
            ("Gas", lambda _: AIR),
            ("Oxygen (%)", lambda row: row[0].oxygen_percent),
            ("Carbon monoxide (ppm)", lambda row: row[0].co_ppm),
            ("Compressor (h)", lambda row: meter.hours(row[0].at)),
            ("Filter in use (h)", lambda row: meter.filter_hours(row[0].at)),
            ("Set aside then", lambda row: any(_was_aside(one, row[1].id, row[0].at) for one in aside)),
            ("By", lambda row: row[0].by),
        ),
    )


def cylinders(scope: Scope) -> ExportTable:
    """Return every cylinder as stamped, with its newest tests."""
    return table(
        "cylinders",
        "Cylinders",
        scope.session.exec(select(CylinderRow).order_by(col(CylinderRow.id))),
        (
            ("Cylinder", lambda row: row.number),
            ("Size (L)", lambda row: row.litres),
            ("Working pressure (bar)", lambda row: row.working_pressure_bar),
            ("Test pressure (bar)", lambda row: row.test_pressure_bar),
            ("Metal", lambda row: row.material),
            ("Valve", lambda row: row.valve or None),
            ("Owner", lambda row: row.owner or None),
            ("Looked inside on", lambda row: row.last_visual),
            ("Pressure tested on", lambda row: row.last_pressure_test),
            ("Out of service for good", lambda row: row.retired),
        ),
    )


def cylinder_tests(scope: Scope) -> ExportTable:
    """Return every passed inspection of a cylinder that was ever written down."""
    asked = (
        select(CylinderTestRow, CylinderRow.number)
        .join(CylinderRow, col(CylinderRow.id) == CylinderTestRow.cylinder_id)
        .order_by(col(CylinderTestRow.id))
    )
    return table(
        "cylinder tests",
        "Cylinder tests",
        scope.session.exec(asked),
        (
            ("Cylinder", lambda row: row[1]),
            ("Looked inside on", lambda row: row[0].visual_on),
            ("Pressure tested on", lambda row: row[0].pressure_on),
            ("Tester or report", lambda row: row[0].report or None),
            ("Written by", lambda row: row[0].by),
            ("Written at", lambda row: scope.local(row[0].at)),
        ),
    )


def set_aside(scope: Scope) -> ExportTable:
    """Return every cylinder that was set aside at some time in the days, and who took it back into use."""
    asked = (
        select(QuarantineRow, CylinderRow.number)
        .join(CylinderRow, col(CylinderRow.id) == QuarantineRow.cylinder_id)
        .where(col(QuarantineRow.at) < scope.end)
        .order_by(col(QuarantineRow.id))
    )
    return table(
        "cylinders set aside",
        "Cylinders set aside",
        [
            row
            for row in scope.session.exec(asked)
            if row[0].lifted_at is None or row[0].lifted_at >= scope.begin
        ],
        (
            ("Cylinder", lambda row: row[1]),
            ("Since", lambda row: scope.local(row[0].at)),
            ("Why", lambda row: row[0].why),
            ("By", lambda row: row[0].by),
            ("Back in use at", lambda row: scope.local(row[0].lifted_at)),
            ("Back in use by", lambda row: row[0].lifted_by or None),
            ("Why back", lambda row: row[0].lifted_why or None),
        ),
    )


@dataclass(frozen=True)
class _Line:
    """One thing about the compressor: what, when, hours of the meter, in words, by whom."""

    at: datetime
    what: str
    hours: float | None
    words: str
    passed: bool | None
    by: str


def compressor(scope: Scope) -> ExportTable:
    """Return the compressor's meter readings, renewed parts and air tests of the days."""
    session = scope.session
    lines = [
        *(
            _Line(row.at, "hour meter", row.hours, "", None, row.by)
            for row in session.exec(select(CompressorRow))
        ),
        *(
            _Line(row.at, f"{row.kind} renewed", row.hours, row.note, None, row.by)
            for row in session.exec(select(CompressorServiceRow))
        ),
        *(
            _Line(row.at, "air test", None, _certificate(row), row.passed, row.by)
            for row in session.exec(select(AirTestRow))
        ),
    ]
    return table(
        "compressor",
        "Compressor",
        sorted((one for one in lines if scope.begin <= one.at < scope.end), key=lambda one: one.at),
        (
            ("At", lambda one: scope.local(one.at)),
            ("What", lambda one: one.what),
            ("Compressor (h)", lambda one: one.hours),
            ("Passed", lambda one: one.passed),
            ("Words", lambda one: one.words or None),
            ("By", lambda one: one.by),
        ),
    )


def _certificate(row: AirTestRow) -> str:
    """Return a test of the air in words: who or which report, the day, and the figures it gives."""
    figures = (
        ("oxygen", row.oxygen_percent, "%"),
        ("carbon monoxide", row.co_ppm, "ppm"),
        ("carbon dioxide", row.co2_ppm, "ppm"),
        ("oil", row.oil_mg_m3, "mg/m³"),
        ("water", row.water_mg_m3, "mg/m³"),
    )
    said = [f"{what} {figure:g} {unit}" for what, figure, unit in figures if figure is not None]
    return ", ".join(one for one in (row.report, f"tested on {row.tested_on.isoformat()}", *said) if one)


def _was_aside(row: QuarantineRow, cylinder_id: int | None, at: datetime) -> bool:
    return row.cylinder_id == cylinder_id and row.at <= at and (row.lifted_at is None or row.lifted_at > at)


@dataclass(frozen=True)
class _Meter:
    """The compressor's hour meter and filter changes in order of time."""

    read: Sequence[tuple[datetime, float]]
    renewed: Sequence[tuple[datetime, float]]

    @classmethod
    def of(cls, session: Session) -> "_Meter":
        """Read both from the records."""
        filters = select(CompressorServiceRow).where(CompressorServiceRow.kind == FILTER)
        return cls(
            sorted((row.at, row.hours) for row in session.exec(select(CompressorRow))),
            sorted((row.at, row.hours) for row in session.exec(filters)),
        )

    def hours(self, at: datetime) -> Value:
        """Return the hours last read by then; None while nobody had read the meter."""
        return _newest(self.read, at)

    def filter_hours(self, at: datetime) -> Value:
        """Return the hours that the filter had been in use by then, by the last reading; None if unknown."""
        hours, renewed = _newest(self.read, at), _newest(self.renewed, at)
        return None if hours is None or renewed is None else rounded(max(0.0, hours - renewed), 1)


def _newest(told: Sequence[tuple[datetime, float]], at: datetime) -> float | None:
    before = bisect_right(told, (at, float("inf")))
    return told[before - 1][1] if before else None
