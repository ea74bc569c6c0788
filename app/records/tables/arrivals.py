"""When parties arrive at the shop. Add only."""

from datetime import datetime
from typing import ClassVar

from app.records.tables.base import Row, instant, key, link


class ArrivalRow(Row, table=True):
    """A party is at the shop, or is not after all. The newest counts."""

    __tablename__ = "arrival"
    add_only: ClassVar[bool] = True
    id: int | None = key()
    party_id: int = link("party.id")
    here: bool
    by: str
    at: datetime = instant()
