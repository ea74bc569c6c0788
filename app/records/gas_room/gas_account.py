"""The gas account of a day or a week: what the records hold, as the events that the account is made of."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, TypeVar

from sqlmodel import Session, and_, col, func, or_, select
from sqlmodel.sql.expression import SelectOfScalar

from app.planning import gas_account
from app.planning.gas_account import Entry, Event, Flow, Kind, Line
from app.planning.water import STANDARD_SURFACE_BAR
from app.records.setup.shop import Shop, the_shop
from app.records.tables.compressor import BankReadingRow, BankRow, CompressorOutputRow
from app.records.tables.cylinders import CompressorRow, CylinderRow, FillRow, ReadingRow
from app.records.tables.groups import CylinderOutRow, GroupRow, MemberRow
from app.records.tables.house import ShopRow, SiteRow
from app.records.tables.parties import ConditionsRow, SlotRow
from app.records.tables.water import PressureRow

# Of events at one instant: a gauge read after a fill counts, and a dive begins with its cylinder.
_ORDER = (
    Kind.FILL, Kind.BANK, Kind.GAVE, Kind.OUT, Kind.START, Kind.END, Kind.READ, Kind.DRAIN,
)  # fmt: skip
_MOMENTS = {"start": Kind.START, "end": Kind.END}
A = TypeVar("A", FillRow, ReadingRow)


@dataclass(frozen=True)
class Store:
    """A cylinder or a bank: its key in the account, what it is called, and where its page is."""

    key: str
    name: str
    litres: float
    href: str
    bank: bool = False


@dataclass(frozen=True)
class Made:
    """What the compressor made: hours on its meter between the first and the last reading; None: not read.

    free_air_l_min: what it delivers, None while nobody wrote that down.
    """

    hours: float | None
    free_air_l_min: float | None

    @property
    def litres(self) -> float | None:
        """Litres of air as counted; None while hours or delivery are not known."""
        if self.hours is None or self.free_air_l_min is None:
            return None
        return self.hours * 60 * self.free_air_l_min


@dataclass(frozen=True)
class GasAccount:
    """The account from one day to another, both included. lines: one for each store, by name."""

    first: date
    last: date
    lines: tuple[tuple[Store, Line], ...]
    made: Made

    @property
    def total(self) -> Line:
        """Everything together: what banks gave to cylinders cancels itself."""
        return sum((line for _, line in self.lines), Line())

    @property
    def pumped_litres(self) -> float:
        """What came from the compressor: fills and banks, less what banks gave."""
        return self.total.of(Flow.FILLED) - self.total.of(Flow.GIVEN)

    @property
    def losing(self) -> list[tuple[Store, float]]:
        """Where gas is missing, in litres, the most first."""
        lost = [(store, line.of(Flow.LOST)) for store, line in self.lines if line.of(Flow.LOST) > 0]
        return sorted(lost, key=lambda one: -one[1])


def gas_accounts(session: Session, first: date, last: date) -> list[GasAccount]:
    """Return the account of each day from one to another, both included."""
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    return accounts_of(session, [(day, day) for day in days])


def accounts_of(session: Session, spans: Sequence[tuple[date, date]]) -> list[GasAccount]:
    """Return one account for each span of days, both included; the spans are in order of time."""
    book = _Book(session, spans[0][0], spans[-1][1])
    return [book.of(first, last) for first, last in spans]


def whole_account(session: Session, first: date, last: date) -> GasAccount:
    """Return one account over several days."""
    return _Book(session, first, last).of(first, last)


def day_entries(session: Session, day: date) -> list[Entry]:
    """Return what moved on a day, in order of time. Keys of cylinders: their number in the store."""
    book = _Book(session, day, day)
    begin, end = book.instants(day, day)
    return [entry for entry in book.entries if begin <= entry.at < end]


def water_temps(session: Session, slot_ids: Iterable[int]) -> dict[int, float]:
    """Return the water temperature last measured for each slot that has one, in C."""
    found = select(ConditionsRow).where(
        col(ConditionsRow.slot_id).in_(list(slot_ids)), col(ConditionsRow.water_temp_c).is_not(None)
    )
    rows = session.exec(found.order_by(col(ConditionsRow.id)))
    return {row.slot_id: row.water_temp_c for row in rows if row.water_temp_c is not None}


def surface_bar(session: Session) -> float:
    """Return the pressure of the air around the gas room's gauges, in bar absolute."""
    row = session.exec(select(ShopRow)).first()
    return STANDARD_SURFACE_BAR if row is None else row.surface_pressure_bar


class _Book:
    """The events of some days with what went just before them, and the accounts made of them."""

    def __init__(self, session: Session, first: date, last: date) -> None:
        self._session, self._shop = session, the_shop(session)
        begin, end = self.instants(first, last)
        self.stores = _stores(session)
        self._compressor = _hours(session, begin, end)
        self._free_air = _free_air(session, end)
        around = surface_bar(session)
        events = [
            *_fills(session, begin, end, around),
            *_readings(session, begin, end, around),
            *_outs(session, begin, end),
            *_at_the_water(session, begin, end),
            *_banks(session, begin, end, around),
        ]
        events.sort(key=lambda event: (event.at, _ORDER.index(event.kind)))
        self.entries = gas_account.entries(events, {one.key: one.litres for one in self.stores})

    def instants(self, first: date, last: date) -> tuple[datetime, datetime]:
        """Return when the first day begins and when the last one is over."""
        return _midnight(self._shop, first), _midnight(self._shop, last + timedelta(days=1))

    def of(self, first: date, last: date) -> GasAccount:
        """Return the account from one day to another."""
        begin, end = self.instants(first, last)
        lines = gas_account.account(self.entries, begin, end, (one.key for one in self.stores))
        read = [row.hours for row in self._compressor if begin <= row.at < end]
        made = Made(max(read) - min(read) if len(read) > 1 else None, self._free_air)
        mine = tuple((one, lines[one.key]) for one in self.stores)
        return GasAccount(first, last, mine, made)


def _midnight(shop: Shop, day: date) -> datetime:
    return datetime.combine(day, time(0), shop.zone)


def _bank_name(name: str) -> str:
    return name if name.casefold().startswith("bank") else f"Bank {name}"


def _stores(session: Session) -> list[Store]:
    cylinders = session.exec(select(CylinderRow).order_by(CylinderRow.number))
    banks = session.exec(select(BankRow).order_by(BankRow.name, col(BankRow.id)))
    return [
        *(Store(str(row.id), row.number, row.litres, f"/gas/cylinders/{row.id}") for row in cylinders),
        *(Store(f"bank {row.id}", _bank_name(row.name), row.litres, "/gas/fill", True) for row in banks),
    ]


def _last_before(session: Session, table: Any, at: Any, begin: datetime) -> list[int]:
    """Return the numbers of the last row before a moment, one for each cylinder that has one."""
    last = (
        select(table.id)
        .where(table.cylinder_id == CylinderRow.id, at < begin)
        .order_by(at.desc(), table.id.desc())
        .limit(1)
        .correlate(CylinderRow)
        .scalar_subquery()
    )
    return [number for number in session.exec(select(last).select_from(CylinderRow)) if number is not None]


def _with_last_before(session: Session, kind: type[A], begin: datetime, end: datetime) -> Iterable[A]:
    """Rows of some days, and of each cylinder the last one before them."""
    last = _last_before(session, kind, col(kind.at), begin)
    mine = and_(col(kind.at) >= begin, col(kind.at) < end)
    return session.exec(select(kind).where(or_(mine, col(kind.id).in_(last))).order_by(col(kind.id)))


def _fills(session: Session, begin: datetime, end: datetime, around: float) -> Iterable[Event]:
    for row in _with_last_before(session, FillRow, begin, end):
        yield Event(
            str(row.cylinder_id), row.at, Kind.FILL, row.end_bar, row.start_bar, row.temp_c, True, around
        )


def _readings(session: Session, begin: datetime, end: datetime, around: float) -> Iterable[Event]:
    for row in _with_last_before(session, ReadingRow, begin, end):
        kind = Kind.DRAIN if row.why == "drained" else Kind.READ
        temp = gas_account.SHOP_USUAL_C if row.temp_c is None else row.temp_c
        measured = row.temp_c is not None
        yield Event(str(row.cylinder_id), row.at, kind, row.bar, 0.0, temp, measured, around)


def _outs(session: Session, begin: datetime, end: datetime) -> Iterable[Event]:
    row = CylinderOutRow
    last = _last_before(session, row, col(row.given_at), begin)
    mine = and_(col(row.given_at) >= begin, col(row.given_at) < end)
    for out in session.exec(select(row).where(or_(mine, col(row.id).in_(last)))):
        yield Event(str(out.cylinder_id), out.given_at, Kind.OUT)


def _at_the_water(session: Session, begin: datetime, end: datetime) -> Iterable[Event]:
    """Start and end of each dive: the figure that counts, at the time of the first one."""
    row = PressureRow
    last = _last_before(session, row, col(row.at), begin)
    mine = and_(col(row.at) >= begin, col(row.at) < end)
    members = select(row.member_id).where(or_(mine, col(row.id).in_(last)))
    seas = seas_of(session, members)
    told: dict[tuple[int, int, str], tuple[datetime, float]] = {}
    for read in session.exec(select(row).where(col(row.member_id).in_(members)).order_by(col(row.id))):
        place = (read.member_id, read.cylinder_id, read.moment)
        told[place] = (told[place][0] if place in told else read.at, read.bar)
    for (member, cylinder, moment), (at, bar) in told.items():
        if moment in _MOMENTS and at < end:
            temp, around = seas[member]
            yield Event(str(cylinder), at, _MOMENTS[moment], bar, 0.0, temp, False, around)


def seas_of(session: Session, members: Iterable[int] | SelectOfScalar[int]) -> dict[int, tuple[float, float]]:
    """Return water temperature in C and pressure at the surface in bar for each member's dive."""
    found = (
        select(MemberRow.id, SlotRow.id, SiteRow)
        .join(GroupRow, col(GroupRow.id) == MemberRow.group_id)
        .join(SlotRow, col(SlotRow.id) == GroupRow.slot_id)
        .join(SiteRow, col(SiteRow.id) == SlotRow.site_id)
        .where(col(MemberRow.id).in_(members if isinstance(members, SelectOfScalar) else list(members)))
    )
    rows = list(session.exec(found))
    temps = water_temps(session, {slot or 0 for _, slot, _ in rows})
    return {
        member or 0: (temps.get(slot or 0, site.usual_temp_c), site.surface_pressure_bar)
        for member, slot, site in rows
    }


def _banks(session: Session, begin: datetime, end: datetime, around: float) -> Iterable[Event]:
    row = BankReadingRow
    last = select(func.max(row.id)).where(col(row.at) < begin).group_by(col(row.bank_id))
    asked = select(row).where(col(row.at) < end, or_(col(row.at) >= begin, col(row.id).in_(last)))
    for read in session.exec(asked.order_by(col(row.id))):
        kind = Kind.GAVE if read.worked_out else Kind.BANK
        yield Event(f"bank {read.bank_id}", read.at, kind, read.bar, surface_bar=around)


def _hours(session: Session, begin: datetime, end: datetime) -> list[CompressorRow]:
    at = col(CompressorRow.at)
    return list(session.exec(select(CompressorRow).where(at >= begin, at < end).order_by(at)))


def _free_air(session: Session, end: datetime) -> float | None:
    asked = select(CompressorOutputRow).where(col(CompressorOutputRow.at) < end)
    row = session.exec(asked.order_by(col(CompressorOutputRow.id).desc()).limit(1)).first()
    return None if row is None else row.free_air_l_min
