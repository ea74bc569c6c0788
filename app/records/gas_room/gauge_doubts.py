"""What a cylinder's gauge should read by the fill record, and readings that do not fit it.

A record speaks only of a closed cylinder: one that somebody has breathed from since says nothing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import ceil, floor

from sqlmodel import Session, col, func, select

from app.planning.edge_reading import expected_at_edge
from app.planning.water import STANDARD_SURFACE_BAR
from app.records.gas_room.compressor import ROOM_C
from app.records.gas_room.gauges import Gauge, gauges, newest_outs
from app.records.groups.groups import GroupView, newest_conditions
from app.records.store.problems import NotHere
from app.records.tables.breathing import GaugeDoubtRow, GaugeLookRow
from app.records.tables.cylinders import CylinderRow, FillRow, ReadingRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.water import PressureRow
from app.records.water_side.water import member_names


@dataclass(frozen=True)
class Expected:
    """What a gauge should read in bar, gauge errors not counted in."""

    low_bar: float
    high_bar: float

    @property
    def words(self) -> str:
        """The range as shown: whole bar, rounded outwards."""
        return f"{floor(self.low_bar)} to {ceil(self.high_bar)} bar"


@dataclass(frozen=True)
class Doubt:
    """A reading that the fill record does not explain. name, group: whose it was, "" in the gas room."""

    row: GaugeDoubtRow
    number: str
    name: str
    group: str
    group_id: int | None
    looks: tuple[GaugeLookRow, ...]

    @property
    def said(self) -> str:
        """What the record said, as shown."""
        return Expected(self.row.low_bar, self.row.high_bar).words


def expected_at_water(session: Session, view: GroupView) -> dict[int, Expected]:
    """Return what each cylinder that a group has should read at its water, by cylinder number."""
    members = [one.row.id for one in view.members]
    asked = select(CylinderOutRow.cylinder_id).where(
        col(CylinderOutRow.member_id).in_(members), col(CylinderOutRow.back_at).is_(None)
    )
    known = gauges(session, list(session.exec(asked)), at_the_water=False)
    seen = newest_conditions(session, [view.slot.id]).get(view.slot.id or 0)
    water = view.site.usual_temp_c if seen is None or seen.water_temp_c is None else seen.water_temp_c
    return {
        key: _expected(gauge, water, None, view.site.surface_pressure_bar) for key, gauge in known.items()
    }


def expected_in_room(session: Session, cylinder_id: int, temp_c: float | None) -> Expected | None:
    """Return what a closed cylinder's gauge should read in the gas room; None when no record says.

    temp_c: temperature of its gas in °C, None where it was not measured.
    """
    gauge = gauges(session, [cylinder_id], at_the_water=False).get(cylinder_id)
    out = newest_outs(session, [cylinder_id]).get(cylinder_id)
    if gauge is None or (out is not None and out.back_at is None and _went_in(session, out)):
        return None
    return _expected(gauge, ROOM_C if temp_c is None else temp_c, temp_c, STANDARD_SURFACE_BAR)


def open_doubts(session: Session) -> list[Doubt]:
    """Return the doubts that nobody looked at, newest first.

    One is over too when the cylinder was swapped or is back, when its reading was put right, or when the
    gauge was read or the cylinder filled again in the gas room.
    """
    looked = select(col(GaugeLookRow.doubt_id))
    rows = list(
        session.exec(
            select(GaugeDoubtRow)
            .where(col(GaugeDoubtRow.id).not_in(looked))
            .order_by(col(GaugeDoubtRow.id).desc())
        )
    )
    standing = _standing_at_water(session, rows) | _standing_in_room(session, rows)
    return _views(session, [row for row in rows if row.id in standing])


def doubt(session: Session, doubt_id: int) -> Doubt:
    """Return one doubt, open or not; raises NotHere."""
    row = session.get(GaugeDoubtRow, doubt_id)
    if row is None:
        raise NotHere(f"gauge doubt {doubt_id}")
    return _views(session, [row])[0]


def _expected(gauge: Gauge, place_c: float, air_c: float | None, surface_bar: float) -> Expected:
    return Expected(*expected_at_edge(gauge.bar, gauge.temp_c, place_c, air_c, surface_bar))


def _went_in(session: Session, out: CylinderOutRow) -> bool:
    asked = select(GroupRow.entered_at).join(MemberRow, col(MemberRow.group_id) == GroupRow.id)
    return session.exec(asked.where(MemberRow.id == out.member_id)).first() is not None


def _standing_at_water(session: Session, rows: Iterable[GaugeDoubtRow]) -> set[int | None]:
    """Return the doubts at the water whose reading still counts for a cylinder that is still out."""
    asked = {row.pressure_id: row.id for row in rows if row.pressure_id is not None}
    newest = (
        select(func.max(PressureRow.id))
        .where(
            PressureRow.moment == "start",
            col(PressureRow.member_id).in_(
                select(PressureRow.member_id).where(col(PressureRow.id).in_(asked))
            ),
        )
        .group_by(col(PressureRow.member_id), col(PressureRow.cylinder_id))
    )
    counts = (
        select(PressureRow.id)
        .join(
            CylinderOutRow,
            (col(CylinderOutRow.member_id) == PressureRow.member_id)
            & (col(CylinderOutRow.cylinder_id) == PressureRow.cylinder_id),
        )
        .where(
            col(PressureRow.id).in_(asked),
            col(PressureRow.id).in_(newest),
            col(CylinderOutRow.back_at).is_(None),
        )
    )
    return {asked[number] for number in session.exec(counts) if number is not None} if asked else set()


def _standing_in_room(session: Session, rows: Iterable[GaugeDoubtRow]) -> set[int | None]:
    """Return the doubts in the gas room whose reading is still the last that is known of its cylinder."""
    asked = [row for row in rows if row.reading_id is not None]
    ids = {row.cylinder_id for row in asked}
    if not ids:
        return set()
    newest = select(ReadingRow.cylinder_id, func.max(ReadingRow.id)).group_by(col(ReadingRow.cylinder_id))
    fills = select(FillRow.cylinder_id, func.max(FillRow.at)).group_by(col(FillRow.cylinder_id))
    read = dict(session.exec(newest.where(col(ReadingRow.cylinder_id).in_(ids))).all())
    filled = dict(session.exec(fills.where(col(FillRow.cylinder_id).in_(ids))).all())
    return {
        row.id
        for row in asked
        if read.get(row.cylinder_id) == row.reading_id
        and not (row.cylinder_id in filled and filled[row.cylinder_id] > row.at)
    }


def _views(session: Session, rows: list[GaugeDoubtRow]) -> list[Doubt]:
    cylinders = select(CylinderRow.id, CylinderRow.number).where(
        col(CylinderRow.id).in_({row.cylinder_id for row in rows})
    )
    numbers: Mapping[int | None, str] = dict(session.exec(cylinders).all())
    at_water = (
        select(PressureRow.id, MemberRow, GroupRow)
        .join(MemberRow, col(MemberRow.id) == PressureRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .where(col(PressureRow.id).in_({row.pressure_id for row in rows if row.pressure_id is not None}))
    )
    places = {number: (member, group) for number, member, group in session.exec(at_water)}
    names = member_names(session, [member for member, _ in places.values()])
    looks: dict[int, list[GaugeLookRow]] = {}
    found = select(GaugeLookRow).where(col(GaugeLookRow.doubt_id).in_([row.id for row in rows]))
    for look in session.exec(found.order_by(col(GaugeLookRow.id))):
        looks.setdefault(look.doubt_id, []).append(look)
    views = []
    for row in rows:
        member, group = places.get(row.pressure_id, (None, None))
        views.append(
            Doubt(
                row,
                numbers.get(row.cylinder_id, ""),
                "" if member is None else names.get(member.id or 0, ""),
                "" if group is None else group.name,
                None if group is None else group.id,
                tuple(looks.get(row.id or 0, ())),
            )
        )
    return views
