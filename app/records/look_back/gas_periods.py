"""Gas over days, weeks and months: dives, litres, minutes, rates, fills and losses, a line for each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from statistics import fmean

from sqlalchemy import func, select
from sqlmodel import Session, col

from app.planning.gas_account import Flow
from app.records.gas_room.gas_account import accounts_of
from app.records.look_back.dive_lines import used_litres
from app.records.plans.logged_dives import Entry
from app.records.setup.shop import the_shop
from app.records.store.house import House
from app.records.tables.days import IncidentRow
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.parties import SlotRow
from app.records.tables.water import WaterEventRow
from app.rules import limits as L


@dataclass(frozen=True)
class Period:
    """One period, both days included. Litres: dry air at 1.01325 bar and 15 C; rates: settled, of guests.

    went_in: everybody who went in. dives: those with every figure written down, staff's too. None: nothing to
    take a mean of. under_reserve: incidents that the program made of it.
    """

    first: date
    last: date
    went_in: int
    dives: int
    guest_dives: int
    breathed_litres: float
    guest_litres: float
    filled_litres: float
    lost_litres: float
    mean_minutes: float | None
    mean_rate_l_min: float | None
    lowest_end_bar: float | None
    under_reserve: int

    @property
    def without_figures(self) -> int:
        """How many went in and have no dive with all its figures."""
        return max(0, self.went_in - self.dives)

    @property
    def litres_a_guest(self) -> float | None:
        """What one guest's dive took on average."""
        return self.guest_litres / self.guest_dives if self.guest_dives else None


def days_before(last: date, count: int) -> list[tuple[date, date]]:
    """Return single days up to the last one, the first day first."""
    return [(last - timedelta(days=n), last - timedelta(days=n)) for n in reversed(range(count))]


def months_before(last: date, count: int) -> list[tuple[date, date]]:
    """Return whole months up to the one of the last day, which ends with it, the first month first."""
    months = []
    first, end = last.replace(day=1), last
    for _ in range(count):
        months.append((first, end))
        end = first - timedelta(days=1)
        first = end.replace(day=1)
    return months[::-1]


def gas_periods(session: Session, house: House, spans: Sequence[tuple[date, date]]) -> list[Period]:
    """Return one line for each span, in their order. Spans follow each other without a gap."""
    shop = the_shop(session)
    begin = datetime.combine(spans[0][0], time(0), shop.zone)
    entries = [
        (shop.day_of(one.at), one)
        for one in house.breathing.entries(session, begin)
        if one.member_id is not None
    ]
    went = _went_in(session, spans[0][0], spans[-1][1])
    under = _under_reserve(session, spans[0][0], spans[-1][1])
    accounts = accounts_of(session, spans)
    periods = []
    for (first, last), account in zip(spans, accounts, strict=True):
        mine = [one for day, one in entries if first <= day <= last]
        guests = [one for one in mine if one.guest_id is not None]
        rates = [one.rate_l_min for one in guests if one.rate_l_min is not None]
        periods.append(
            Period(
                first,
                last,
                sum(count for day, count in went.items() if first <= day <= last),
                len(mine),
                len(guests),
                _litres(mine),
                _litres(guests),
                account.total.of(Flow.FILLED),
                account.total.of(Flow.LOST),
                fmean(one.dive.minutes for one in mine) if mine else None,
                fmean(rates) if rates else None,
                min((one.dive.end_bar for one in mine), default=None),
                sum(count for day, count in under.items() if first <= day <= last),
            )
        )
    return periods


def _litres(entries: Sequence[Entry]) -> float:
    return sum(used_litres(one.dive) for one in entries if one.dive.end_bar < one.dive.start_bar)


def _went_in(session: Session, first: date, last: date) -> dict[date, int]:
    """How many people went in on each day: members with an entry, by the day of their slot."""
    asked = (
        select(col(SlotRow.day), func.count(func.distinct(col(WaterEventRow.member_id))))
        .select_from(WaterEventRow)
        .join(MemberRow, col(MemberRow.id) == WaterEventRow.member_id)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .where(col(SlotRow.day) >= first, col(SlotRow.day) <= last)
        .where(col(WaterEventRow.event) == "in", col(GroupRow.closed_at).is_not(None))
        .group_by(col(SlotRow.day))
    )
    return {day: count for day, count in session.execute(asked).all()}  # noqa: C416 - typed rows


def _under_reserve(session: Session, first: date, last: date) -> dict[date, int]:
    asked = (
        select(col(IncidentRow.day), func.count())
        .where(col(IncidentRow.made_by) == L.END_PRESSURE_MIN.key)
        .where(col(IncidentRow.day) >= first, col(IncidentRow.day) <= last)
        .group_by(col(IncidentRow.day))
    )
    return {day: count for day, count in session.execute(asked).all()}  # noqa: C416 - typed rows
