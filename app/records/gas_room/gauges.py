"""The pressure that each cylinder holds now, as last read off a gauge or left by a fill."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from sqlmodel import Session, col, func, select
from sqlmodel.sql.expression import SelectOfScalar

from app.records.tables.cylinders import FillRow, ReadingRow
from app.records.tables.groups import CylinderOutRow
from app.records.tables.water import PressureRow

FILLED = "fill"
END = "end"
_LATER = {"start": 0, "during": 1, END: 2}
R = TypeVar("R", FillRow, ReadingRow)


@dataclass(frozen=True)
class Gauge:
    """A pressure in bar, when it was so, the gas temperature in °C (None: not measured), why it was read."""

    bar: float
    at: datetime
    temp_c: float | None
    why: str


def gauges(
    session: Session, ids: Iterable[int] | None = None, *, at_the_water: bool = True
) -> dict[int, Gauge]:
    """Return the newest pressure of each cylinder that has one, by cylinder number.

    at_the_water: False leaves out what divers read during their group's run.

    A cylinder that was out and came back counts only with a figure read at the end of its dive or later:
    without one nobody knows what is left, and the cylinder is not in the answer.
    """
    wanted = None if ids is None else list(ids)
    fills = _newest(session, FillRow, wanted)
    readings = _newest(session, ReadingRow, wanted)
    outs = newest_outs(session, wanted)
    water = _at_the_water(session, outs) if at_the_water else {}
    found: dict[int, Gauge] = {}
    for cylinder in fills.keys() | readings.keys() | water.keys():
        known = []
        if (fill := fills.get(cylinder)) is not None:
            known.append(Gauge(fill.end_bar, fill.at, fill.temp_c, FILLED))
        if (gauge := water.get(cylinder)) is not None:
            known.append(gauge)
        if (reading := readings.get(cylinder)) is not None:
            known.append(Gauge(reading.bar, reading.at, reading.temp_c, reading.why))
        out = outs.get(cylinder)
        if out is not None and out.back_at is not None:
            known = [one for one in known if _counts_after(one, out.given_at, out.back_at)]
        if known:
            # Of two with the same time the later in this list counts: a gauge read after a fill.
            found[cylinder] = max(enumerate(known), key=lambda pair: (pair[1].at, pair[0]))[1]
    return found


def newest_outs(session: Session, ids: list[int] | None = None) -> dict[int, CylinderOutRow]:
    """Return the last time each cylinder was given out, whether it is back or not, by cylinder number."""
    newest = select(func.max(CylinderOutRow.id)).group_by(col(CylinderOutRow.cylinder_id))
    if ids is not None:
        newest = newest.where(col(CylinderOutRow.cylinder_id).in_(ids))
    rows = session.exec(select(CylinderOutRow).where(col(CylinderOutRow.id).in_(newest)))
    return {row.cylinder_id: row for row in rows}


def _counts_after(gauge: Gauge, given_at: datetime, back_at: datetime) -> bool:
    return gauge.at >= back_at or (gauge.why == END and gauge.at >= given_at)


def _newest(session: Session, kind: type[R], ids: list[int] | None) -> dict[int, R]:
    newest = select(func.max(kind.id)).group_by(col(kind.cylinder_id))
    if ids is not None:
        newest = newest.where(col(kind.cylinder_id).in_(ids))
    return {row.cylinder_id: row for row in session.exec(select(kind).where(col(kind.id).in_(newest)))}


def _at_the_water(session: Session, outs: dict[int, CylinderOutRow]) -> dict[int, Gauge]:
    """The furthest moment read at the water while a cylinder was last out; once back only the end counts."""
    members = {out.member_id for out in outs.values()}
    rows = session.exec(
        select(PressureRow).where(col(PressureRow.member_id).in_(members)).order_by(col(PressureRow.id))
    )
    found: dict[int, Gauge] = {}
    for row in rows:
        out = outs.get(row.cylinder_id)
        if out is None or out.member_id != row.member_id or row.at < out.given_at:
            continue
        if out.back_at is not None and row.moment != END:
            continue
        before = found.get(row.cylinder_id)
        if before is not None and _LATER[before.why] > _LATER[row.moment]:
            continue
        # A correction puts the figure right, not the time at which the gauge was read.
        at = before.at if before is not None and row.correction and before.why == row.moment else row.at
        found[row.cylinder_id] = Gauge(row.bar, at, None, row.moment)
    return found


def newest_two(session: Session, cylinder_id: int) -> list[Gauge]:
    """Return the two newest figures of one cylinder, newest first, whatever they were read for."""
    fills = session.exec(_last_of(FillRow, cylinder_id))
    readings = session.exec(_last_of(ReadingRow, cylinder_id))
    found = [Gauge(row.end_bar, row.at, row.temp_c, FILLED) for row in fills]
    found += [Gauge(row.bar, row.at, row.temp_c, row.why) for row in readings]
    return sorted(found, key=lambda one: one.at, reverse=True)[:2]


def _last_of(kind: type[R], cylinder_id: int) -> SelectOfScalar[R]:
    return select(kind).where(kind.cylinder_id == cylinder_id).order_by(col(kind.id).desc()).limit(2)
