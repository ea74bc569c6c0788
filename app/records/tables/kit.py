"""Kit by size and number, what is out, and weights."""

from datetime import date, datetime

from sqlalchemy import Index, text
from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class KitItemRow(Row, table=True):
    """One suit, jacket, pair of fins or boots, mask or regulator."""

    __tablename__ = "kit_item"
    id: int | None = key()
    kind: str = Field(index=True)
    number: str = Field(unique=True)
    size: str = ""
    # Neoprene thickness, for suits.
    thickness_mm: float | None = None
    # For suits: how much of the body it covers ("full", "shorty", "two-piece"), and what the shop calls the
    # model; empty while nobody wrote it down.
    cover: str = ""
    model: str = ""
    service_due: date | None = None
    out_of_use_since: datetime | None = instant(empty=True)
    out_of_use_by: str = ""
    out_of_use_why: str = ""
    version: int = 1


class KitLoanRow(Row, table=True):
    """One item given to one guest for a slot, and brought back."""

    __tablename__ = "kit_loan"
    # The store itself refuses to hand one item to two guests.
    __table_args__ = (
        Index(
            "uq_kit_loan_once",
            "item_id",
            unique=True,
            sqlite_where=text("back_at IS NULL"),
            postgresql_where=text("back_at IS NULL"),
        ),
    )
    id: int | None = key()
    item_id: int = link("kit_item.id")
    guest_id: int = link("guest.id")
    slot_id: int = link("slot.id")
    out_at: datetime = instant()
    out_by: str
    back_at: datetime | None = instant(empty=True)
    back_by: str = ""
    # Said by hand before the usual rinse and dry time was over; without it that time counts.
    rinsed_at: datetime | None = instant(empty=True)
    rinsed_by: str = ""
    version: int = 1


class WeightsRow(Row, table=True):
    """Lead given to a guest: what was suggested, what was given, and the check in the water."""

    __tablename__ = "weights"
    id: int | None = key()
    guest_id: int = link("guest.id")
    slot_id: int = link("slot.id")
    suggested_kg: float
    method: str
    given_kg: float
    given_by: str
    at: datetime = instant()
    # What the guide saw at the surface with empty jacket and lungs: "floats", "level", "sinks", "".
    float_check: str = ""
    checked_by: str = ""
    checked_at: datetime | None = instant(empty=True)
    # What buoyancy alone asked for, not rounded, and in which suit: what later checks are compared with.
    # None for lead given before this was kept.
    plain_kg: float | None = None
    suit: str = ""
    back_at: datetime | None = instant(empty=True)
    back_by: str = ""
    version: int = 1
