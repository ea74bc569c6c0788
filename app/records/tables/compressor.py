"""What the compressor delivers, what was renewed in it, the storage banks, and air measured after a batch."""

from datetime import datetime
from typing import ClassVar

from app.records.tables.base import Row, instant, key, link


class CompressorOutputRow(Row, table=True):
    """What the compressor delivers, free air in L/min. Add only; the newest counts.

    Measured by us: a cylinder of ``litres`` went from ``from_bar`` to ``to_bar`` in ``minutes``, gas at
    ``temp_c`` at the end. Without those it is the maker's figure.
    """

    __tablename__ = "compressor_output"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    free_air_l_min: float
    litres: float | None = None
    from_bar: float | None = None
    to_bar: float | None = None
    temp_c: float | None = None
    minutes: float | None = None
    at: datetime = instant()
    by: str


class CompressorServiceRow(Row, table=True):
    """A part renewed at an hour of the meter. Add only. ``kind``: "filter" or "oil"."""

    __tablename__ = "compressor_service"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    kind: str
    hours: float
    note: str = ""
    at: datetime = instant()
    by: str


class BankRow(Row, table=True):
    """A storage bank: water volume in litres, and the pressure it may be filled to."""

    __tablename__ = "bank"
    id: int | None = key()
    name: str
    litres: float
    rated_bar: float
    in_use: bool = True
    version: int = 1


class BankReadingRow(Row, table=True):
    """What a bank holds, bar gauge. Add only. ``worked_out``: after a fill from it, until it is read."""

    __tablename__ = "bank_reading"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    bank_id: int = link("bank.id")
    bar: float
    worked_out: bool = False
    at: datetime = instant()
    by: str


class BatchAirRow(Row, table=True):
    """Air measured after a batch was written down. Add only. The batch is named by its first fill."""

    __tablename__ = "batch_air"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    first_fill_id: int = link("fill.id")
    co_ppm: float | None = None
    oxygen_percent: float | None = None
    at: datetime = instant()
    by: str
