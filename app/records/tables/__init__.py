"""The shop's tables, grouped by what they are about. Importing this package knows them all."""

from app.records.tables import base, cylinders, days, groups, health, house, kit, parties, people, water

__all__ = ["base", "cylinders", "days", "groups", "health", "house", "kit", "parties", "people", "water"]
