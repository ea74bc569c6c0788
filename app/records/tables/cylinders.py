"""Cylinders, fills, readings, quarantine, the compressor's hours and air."""

from datetime import date, datetime
from typing import ClassVar

from sqlalchemy import Index, text
from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class CylinderRow(Row, table=True):
    """One cylinder as stamped. Its state is worked out from the records, never typed."""

    __tablename__ = "cylinder"
    id: int | None = key()
    number: str = Field(unique=True)
    litres: float
    working_pressure_bar: float
    # "steel" or "aluminium"
    material: str = "steel"
    owner: str = ""
    last_visual: date | None = None
    last_pressure_test: date | None = None
    visual_interval_months: int = 12
    pressure_interval_months: int = 60
    # As stamped; None when nobody has read it off yet.
    test_pressure_bar: float | None = None
    # In trade words: "DIN 200", "DIN 300", "A-clamp".
    valve: str = ""
    # Inspection rules of its own, by key; empty for the shop's.
    inspection: str = ""
    retired: bool = False
    version: int = 1


class FillRow(Row, table=True):
    """Gas put into a cylinder: air only. Add only."""

    __tablename__ = "fill"
    add_only: ClassVar[bool] = True
    __table_args__ = (Index("ix_fill_of_cylinder", "cylinder_id", "at"),)
    id: int | None = key()
    cylinder_id: int = link("cylinder.id")
    start_bar: float
    end_bar: float
    temp_c: float
    # Of the air that went in, where it was measured.
    oxygen_percent: float | None = None
    co_ppm: float | None = None
    at: datetime = instant(index=True)
    by_id: int = link("person.id")
    by: str


class ReadingRow(Row, table=True):
    """A pressure read off a gauge. Add only. ``why`` says when: check, start, turn, end, drained."""

    __tablename__ = "reading"
    add_only: ClassVar[bool] = True
    __table_args__ = (Index("ix_reading_of_cylinder", "cylinder_id", "at"),)
    id: int | None = key()
    cylinder_id: int = link("cylinder.id")
    bar: float
    # As read: the figure and the unit on the gauge.
    read_value: float
    read_unit: str = "bar"
    temp_c: float | None = None
    why: str = "check"
    at: datetime = instant(index=True)
    by: str


class QuarantineRow(Row, table=True):
    """A cylinder put aside, why, and who took it back into use."""

    __tablename__ = "quarantine"
    id: int | None = key()
    cylinder_id: int = link("cylinder.id")
    why: str
    at: datetime = instant()
    by: str
    lifted_at: datetime | None = instant(empty=True)
    lifted_by: str = ""
    lifted_why: str = ""
    version: int = 1


class CylinderTestRow(Row, table=True):
    """One passed inspection of a cylinder: looked inside, pressure tested or both. Add only."""

    __tablename__ = "cylinder_test"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    cylinder_id: int = link("cylinder.id")
    visual_on: date | None = None
    pressure_on: date | None = None
    # Who tested it, or the report's number.
    report: str = ""
    at: datetime = instant()
    by: str


class StationTripRow(Row, table=True):
    """A cylinder away at a test station, and how it came back."""

    __tablename__ = "station_trip"
    # The store itself refuses to send one cylinder away twice.
    __table_args__ = (
        Index(
            "uq_station_trip_once",
            "cylinder_id",
            unique=True,
            sqlite_where=text("back_at IS NULL"),
            postgresql_where=text("back_at IS NULL"),
        ),
    )
    id: int | None = key()
    cylinder_id: int = link("cylinder.id")
    # The station's name or place, in the shop's words.
    station: str
    sent_at: datetime = instant()
    sent_by: str
    back_at: datetime | None = instant(empty=True)
    back_by: str = ""
    # "passed", "not tested" or "condemned"; empty while away.
    outcome: str = ""
    version: int = 1


class CompressorRow(Row, table=True):
    """The compressor's hour meter as read. Add only."""

    __tablename__ = "compressor_hours"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    hours: float
    at: datetime = instant(index=True)
    by: str


class AirTestRow(Row, table=True):
    """A test of the compressor's air. Add only; the newest date counts, of two on a day the later one.

    passed: what the laboratory said, unless a figure is over its limit. Figures: as on the certificate.
    """

    __tablename__ = "air_test"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    tested_on: date = Field(index=True)
    # Who tested it, or the report's number.
    report: str
    passed: bool = True
    certificate: str = ""
    oxygen_percent: float | None = None
    co_ppm: float | None = None
    co2_ppm: float | None = None
    oil_mg_m3: float | None = None
    water_mg_m3: float | None = None
    at: datetime = instant()
    by: str
