"""What teaches the breathing rates beside the shop's own dives, and gauges that disagree with the fill."""

from datetime import date, datetime
from typing import ClassVar

from app.records.tables.base import Row, instant, key, link


class EarlierBatchRow(Row, table=True):
    """A list of earlier dives from the shop's paper, stored at once. Add only."""

    __tablename__ = "earlier_batch"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    # Where the list comes from, in words.
    note: str = ""
    dives: int
    at: datetime = instant()
    by_id: int = link("person.id")
    by: str


class EarlierDiveRow(Row, table=True):
    """One earlier dive of a guest, without a name. Add only; it counts until its batch is taken back."""

    __tablename__ = "earlier_dive"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    batch_id: int = link("earlier_batch.id")
    dived_on: date
    mass_kg: float
    litres: float
    start_bar: float
    end_bar: float
    minutes: float
    mean_depth_m: float
    water_temp_c: float | None = None


class EarlierTakenBackRow(Row, table=True):
    """A batch of earlier dives that counts no more, and why. Add only."""

    __tablename__ = "earlier_taken_back"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    batch_id: int = link("earlier_batch.id")
    why: str
    at: datetime = instant()
    by: str


class GaugeDoubtRow(Row, table=True):
    """A gauge that read outside what the fill record says. Add only; open until somebody looked.

    Kept with its reading: one at the water (pressure) or one in the gas room (reading).
    """

    __tablename__ = "gauge_doubt"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    cylinder_id: int = link("cylinder.id")
    pressure_id: int | None = link("pressure.id", nullable=True, default=None)
    reading_id: int | None = link("reading.id", nullable=True, default=None)
    bar: float
    # What the record said the gauge should read; the errors of two gauges are not counted in.
    low_bar: float
    high_bar: float
    at: datetime = instant()
    by: str


class GaugeLookRow(Row, table=True):
    """What was found when somebody looked at a doubtful gauge. Add only."""

    __tablename__ = "gauge_look"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    doubt_id: int = link("gauge_doubt.id")
    found: str
    at: datetime = instant()
    by_id: int = link("person.id")
    by: str
