"""The shop's tables, grouped by what they are about. Importing this package knows them all."""

from app.records.tables import (
    base,
    breathing,
    compressor,
    cylinders,
    days,
    groups,
    health,
    house,
    kit,
    kit_keeping,
    parties,
    people,
    pictures,
    sheets,
    water,
)

__all__ = [
    "base",
    "breathing",
    "compressor",
    "cylinders",
    "days",
    "groups",
    "health",
    "house",
    "kit",
    "kit_keeping",
    "parties",
    "people",
    "pictures",
    "sheets",
    "water",
]
