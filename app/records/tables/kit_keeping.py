"""Keeping the rail: the shop's own size chart, what a first dive needs, fits, faults, lead, stocktakes."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class SizeChartRow(Row, table=True):
    """The shop's own sizes of one kind. Add only; the newest of a kind counts, older ones stay to be read."""

    __tablename__ = "size_chart"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    kind: str = Field(index=True)
    # JSON: measure ("height", "weight", "shoe") -> list of [above, up to and including, size].
    bands: str
    at: datetime = instant()
    by: str
    why: str


class KitNeedsRow(Row, table=True):
    """The kinds that every first dive needs. Add only; the newest counts."""

    __tablename__ = "kit_needs"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    # Kinds, separated by spaces.
    kinds: str
    at: datetime = instant()
    by: str
    why: str


class KitFitRow(Row, table=True):
    """How a size sat on a guest, told at the mirror. Add only; the newest of a size counts."""

    __tablename__ = "kit_fit"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    guest_id: int = link("guest.id")
    item_id: int = link("kit_item.id")
    kind: str
    size: str
    # "fits", "too small" or "too large"
    said: str
    at: datetime = instant()
    by: str


class KitFaultRow(Row, table=True):
    """Something wrong with an item: who told, what it is, who of the lead saw it, how it ended."""

    __tablename__ = "kit_fault"
    id: int | None = key()
    item_id: int = link("kit_item.id")
    at: datetime = instant()
    by: str
    # Asked after the item is set aside, so empty at first.
    what: str = ""
    seen_at: datetime | None = instant(empty=True)
    seen_by: str = ""
    closed_at: datetime | None = instant(empty=True)
    closed_by: str = ""
    closed_why: str = ""
    version: int = 1


class LeadStockRow(Row, table=True):
    """Lead counted by hand: how many pieces of one weight the shop owns. Add only; the newest counts."""

    __tablename__ = "lead_stock"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    piece_kg: float = Field(index=True)
    pieces: int
    at: datetime = instant()
    by: str


class StocktakeRow(Row, table=True):
    """One walk along the rail to see what is there; anybody may go on with it until it is closed."""

    __tablename__ = "stocktake"
    id: int | None = key()
    begun_at: datetime = instant()
    begun_by: str
    closed_at: datetime | None = instant(empty=True)
    closed_by: str = ""
    # In words, as it stood when it was closed.
    result: str = ""
    version: int = 1


class StocktakeMarkRow(Row, table=True):
    """What somebody said of one item in a stocktake. Add only; the newest of an item counts."""

    __tablename__ = "stocktake_mark"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    stocktake_id: int = link("stocktake.id")
    item_id: int = link("kit_item.id")
    # On the walk: "here" or "not here". Settling a difference: "found", "lost", "still out" or "is back".
    mark: str
    at: datetime = instant()
    by: str
