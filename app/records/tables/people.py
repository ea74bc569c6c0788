"""The team, its devices, its signed-in visits."""

from datetime import date, datetime
from typing import ClassVar

from sqlmodel import Field

from app.records.tables.base import Row, instant, key, link


class PersonRow(Row, table=True):
    """Somebody who works here. Roles add up."""

    __tablename__ = "person"
    secret: ClassVar[frozenset[str]] = frozenset({"passphrase_hash", "pin_hash"})
    id: int | None = key()
    name: str = Field(unique=True)
    # Words from {"desk", "instructor", "lead", "keeper", "manager"}, separated by spaces.
    roles: str = ""
    languages: str = "en"
    passphrase_hash: str = ""
    pin_hash: str = ""
    active: bool = True
    # "level 2" may lead in open water, "level 1" only in pool-like water, "assistant" never leads.
    grade: str = ""
    credential_until: date | None = None
    first_aid_until: date | None = None
    diver_medical_until: date | None = None
    depth_cap_m: float | None = None
    max_guests: int | None = None
    breathing_rate_l_min: float | None = None
    # The units that this person reads: "metric", or words from {"psi", "ft", "°F", "lb", "ft³"}.
    units: str = "metric"
    version: int = 1

    def role_set(self) -> frozenset[str]:
        """Return the roles as a set."""
        return frozenset(self.roles.split())


class DeviceRow(Row, table=True):
    """A paired tablet, phone or laptop of the shop."""

    __tablename__ = "device"
    secret: ClassVar[frozenset[str]] = frozenset({"token_hash"})
    id: int | None = key()
    name: str
    kind: str = "tablet"
    token_hash: str = Field(unique=True)
    paired_at: datetime = instant()
    paired_by: str
    ended_at: datetime | None = instant(empty=True)
    version: int = 1


class VisitRow(Row, table=True):
    """A signed-in session of one person, or of one guest on a handed-over tablet."""

    __tablename__ = "visit"
    in_trail: ClassVar[bool] = False
    id: int | None = key()
    token_hash: str = Field(unique=True)
    kind: str = "staff"
    person_id: int | None = link("person.id", nullable=True, default=None)
    guest_id: int | None = link("guest.id", nullable=True, default=None)
    # In which language a guest reads, as two letters; "" for the language the booking knows.
    language: str = ""
    device_id: int | None = link("device.id", nullable=True, default=None)
    # "passphrase" or "pin": a PIN is for day work only.
    proof: str = "passphrase"
    started_at: datetime = instant()
    seen_at: datetime = instant()
    confirmed_at: datetime | None = instant(empty=True)
    ended_at: datetime | None = instant(empty=True)
    why_ended: str = ""


class WrongTryRow(Row, table=True):
    """Wrong sign-in tries, counted per person and device so that waiting survives a restart."""

    __tablename__ = "wrong_try"
    in_trail: ClassVar[bool] = False
    id: int | None = key()
    who: str = Field(index=True)
    device: str = Field(index=True)
    at: datetime = instant(index=True)
