"""The house itself: the shop, its sites, its limits, the trail, used form keys."""

from datetime import datetime
from typing import ClassVar

from sqlalchemy import Index
from sqlmodel import Field

from app.records.tables.base import Row, instant, key


class ShopRow(Row, table=True):
    """The one shop of this data folder."""

    __tablename__ = "shop"
    id: int | None = key()
    name: str
    timezone: str
    preset: str = "general"
    currency: str = "EUR"
    price_guest_cents: int = 0
    phone_ambulance: str = ""
    phone_shop: str = ""
    phone_dive_doctor: str = ""
    # The air around the shop, bar absolute: what a gauge in the gas room reads from.
    surface_pressure_bar: float = 1.01325
    demo: bool = False
    # The manager's named acceptance that health answers travel open on the shop's Wi-Fi without https.
    open_wifi_accepted_by: str = ""
    # Which inspection rules cylinders follow that have none of their own, by key.
    cylinder_inspection: str = "general"
    # Where the codes on labels lead, for example "http://192.168.1.20:8000"; empty while none was printed.
    label_address: str = ""
    # Where backups go; empty for the folder beside the data folder.
    backup_folder: str = ""
    # On which paper the shop prints: "a4" or "letter".
    paper: str = "a4"
    version: int = 1


class SiteRow(Row, table=True):
    """A place in the water, with its own water and its own ceiling.

    density_kg_m3 and surface_pressure_bar are what everything reads. salinity (practical, about grams of
    salt in a kilogram) and altitude_m are there when the figure was worked out from them.
    """

    __tablename__ = "site"
    id: int | None = key()
    name: str = Field(unique=True)
    confined: bool = False
    water: str = "salt"
    density_kg_m3: float = 1025.0
    surface_pressure_bar: float = 1.01325
    usual_temp_c: float = 17.0
    depth_cap_m: float | None = None
    salinity: float | None = None
    altitude_m: float | None = None
    # Until help with its own oxygen is here; None where the shop's own figure holds.
    help_travel_minutes: float | None = None
    active: bool = True
    version: int = 1


class LimitRow(Row, table=True):
    """A value the shop set for a limit; the newest of a key counts, older ones stay to be read."""

    __tablename__ = "shop_limit"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    limit_key: str = Field(index=True)
    value: float
    set_at: datetime = instant()
    set_by: str
    reason: str


class TrailRow(Row, table=True):
    """One act: who, in which role, on which device, when, what changed and why. Add only, chained."""

    __tablename__ = "trail"
    in_trail: ClassVar[bool] = False
    add_only: ClassVar[bool] = True
    __table_args__ = (Index("ix_trail_of_record", "record", "record_id"),)
    id: int | None = key()
    at: datetime = instant(index=True)
    person_id: int | None = Field(default=None, index=True)
    who: str
    role: str
    device: str
    act: str = Field(index=True)
    record: str = Field(default="", index=True)
    record_id: str = Field(default="", index=True)
    changes: str = "[]"
    reason: str = ""
    chain: str = ""


class UsedKeyRow(Row, table=True):
    """A form's one-use key, stored in the same transaction as the write that used it."""

    __tablename__ = "used_key"
    in_trail: ClassVar[bool] = False
    key: str = Field(primary_key=True)
    # A keyed digest of what was sent: the same key with other content is a clash.
    content: str
    answer: str
    at: datetime = instant()
