"""A gas room for tests: cylinders in test, read after their dives, a compressor that somebody measured."""

from datetime import date, datetime, timedelta

from app.records.tables.compressor import CompressorOutputRow
from app.records.tables.cylinders import CylinderRow, ReadingRow
from tests.web_world import START, World


def stock(world: World, count: int, *, bar: float | None = 60.0, free_air: float | None = 200.0) -> list[int]:
    """Add cylinders 1, 2, ... of 12 L and 232 bar, each read at a pressure; return their row numbers."""
    with world.act() as act:
        found = []
        for number in range(1, count + 1):
            row = act.add(
                CylinderRow(
                    number=str(number),
                    litres=12,
                    working_pressure_bar=232,
                    last_visual=date(2026, 2, 1),
                    last_pressure_test=date(2024, 2, 1),
                )
            )
            found.append(row.id or 0)
        if free_air is not None:
            act.add(CompressorOutputRow(free_air_l_min=free_air, at=START, by="Mona Manager"))
    if bar is not None:
        read(world, found, bar, START - timedelta(hours=2))
    return found


def read(world: World, cylinders: list[int], bar: float, at: datetime) -> None:
    """Read the gauges of some cylinders."""
    with world.act() as act:
        for key in cylinders:
            act.add(
                ReadingRow(cylinder_id=key, bar=bar, read_value=bar, temp_c=20, at=at, by="Ivo Instructor")
            )
