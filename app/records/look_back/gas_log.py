"""The day's gas: what each diver used, against the plan, and what went into the cylinders."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlmodel import Session, col, select

from app.planning.gas_account import Flow, bar_litres
from app.records.gas_room.gas_account import day_entries
from app.records.groups.groups import groups_of
from app.records.look_back.dive_lines import DiveLines, dives_of
from app.records.setup.shop import the_shop
from app.records.tables.cylinders import CompressorRow, CylinderRow, FillRow


@dataclass(frozen=True)
class FillLine:
    """One fill: litres put in, dry air at 1.01325 bar and 15 C."""

    row: FillRow
    number: str
    litres: float

    @property
    def bar_l(self) -> float:
        """The same in bar.L, at exactly 1 bar and 15 C."""
        return bar_litres(self.litres)


@dataclass(frozen=True)
class GasDay:
    """The day's account of gas."""

    dives: tuple[DiveLines, ...]
    fills: tuple[FillLine, ...]
    hours_first: CompressorRow | None
    hours_last: CompressorRow | None

    @property
    def used_litres(self) -> float:
        """Everything breathed that was written down."""
        return sum(line.used_litres or 0.0 for dive in self.dives for line in dive.lines)

    @property
    def used_bar_l(self) -> float:
        """The same in bar.L, at exactly 1 bar and 15 C."""
        return bar_litres(self.used_litres)

    @property
    def filled_bar_l(self) -> float:
        """Everything filled, in bar.L at exactly 1 bar and 15 C."""
        return bar_litres(self.filled_litres)

    @property
    def filled_litres(self) -> float:
        """Everything filled."""
        return sum(fill.litres for fill in self.fills)

    @property
    def hours(self) -> float | None:
        """Hours on the compressor's meter between the first and the last reading of the day."""
        if self.hours_first is None or self.hours_last is None:
            return None
        return self.hours_last.hours - self.hours_first.hours


def gas_day(session: Session, day: date) -> GasDay:
    """Return the gas of a day: dives in order of time, fills, compressor hours."""
    views = [view for view in groups_of(session, day) if view.group.entered_at is not None]
    fills, first, last = _filled(session, day)
    return GasDay(tuple(dives_of(session, views)), fills, first, last)


def _filled(
    session: Session, day: date
) -> tuple[tuple[FillLine, ...], CompressorRow | None, CompressorRow | None]:
    """Fills with what the gas account says went in, so that both say the same."""
    shop = the_shop(session)
    begin = datetime.combine(day, time(0), shop.zone)
    end = datetime.combine(day + timedelta(days=1), time(0), shop.zone)
    went_in: dict[tuple[str, datetime], float] = {}
    for entry in day_entries(session, day):
        if entry.flow is Flow.FILLED:
            place = (entry.cylinder, entry.at)
            went_in[place] = went_in.get(place, 0.0) + entry.litres
    found = (
        select(FillRow, CylinderRow)
        .join(CylinderRow, col(CylinderRow.id) == FillRow.cylinder_id)
        .where(col(FillRow.at) >= begin, col(FillRow.at) < end)
        .order_by(col(FillRow.at), col(FillRow.id))
    )
    fills = tuple(
        FillLine(row, cylinder.number, went_in.pop((str(cylinder.id), row.at), 0.0))
        for row, cylinder in session.exec(found)
    )
    at = col(CompressorRow.at)
    asked = select(CompressorRow).where(at >= begin, at < end).order_by(at, col(CompressorRow.id))
    hours = list(session.exec(asked))
    return fills, (hours[0] if hours else None), (hours[-1] if hours else None)
