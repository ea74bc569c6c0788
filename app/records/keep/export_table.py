"""Tables that leave the shop: columns with their units, plain values, and which days and dives they hold."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import TypeVar

from sqlmodel import Session, col, select

from app.records.groups.groups import GroupView, group_view, groups_of
from app.records.look_back.dive_lines import DiveLines, dives_of
from app.records.setup.shop import Shop
from app.records.store.house import House
from app.records.tables.groups import MemberRow
from app.records.tables.parties import SlotRow

Value = str | int | float | bool | date | datetime | None
R = TypeVar("R")
DAYS, GROUP, GUEST = "days", "group", "guest"
Column = tuple[str, Callable[[R], Value]]


@dataclass(frozen=True)
class ExportTable:
    """One table. titles: what stands above each column, with its unit; instants are in the shop's zone."""

    key: str
    title: str
    titles: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]


@dataclass(frozen=True)
class Scope:
    """What an export holds: days, both included, and the groups and guests of them.

    guest_id: set for the export of one person; then only that person's lines are in it.
    """

    session: Session
    house: House
    shop: Shop
    first: date
    last: date
    views: tuple[GroupView, ...]
    kind: str = DAYS
    guest_id: int | None = None

    def local(self, instant: datetime | None) -> datetime | None:
        """Return an instant on the shop's clock."""
        return None if instant is None else instant.astimezone(self.shop.zone)

    @cached_property
    def dives(self) -> list[DiveLines]:
        """The dives of the groups that went in, worked out once for every table that asks."""
        return dives_of(self.session, [view for view in self.views if view.group.entered_at is not None])

    @property
    def begin(self) -> datetime:
        """The first moment of the first day on the shop's clock."""
        return datetime.combine(self.first, time(0), self.shop.zone)

    @property
    def end(self) -> datetime:
        """The first moment after the last day."""
        return datetime.combine(self.last + timedelta(days=1), time(0), self.shop.zone)

    @property
    def one_group(self) -> bool:
        """Whether this is the export of a single group."""
        return self.kind == GROUP

    def has_guest(self, guest_id: int | None) -> bool:
        """Whether a guest's lines are in this export: one person's own, one group's, or everybody's."""
        if self.kind == DAYS:
            return True
        if self.kind == GUEST:
            return guest_id == self.guest_id
        return any(one.guest is not None and one.guest.id == guest_id for one in self.views[0].members)

    def has(self, member: MemberRow) -> bool:
        """Whether a member's lines are in this export."""
        return self.guest_id is None or member.guest_id == self.guest_id


def days_scope(session: Session, house: House, shop: Shop, first: date, last: date) -> Scope:
    """Return everything from one day to another."""
    asked = select(SlotRow).where(col(SlotRow.day) >= first, col(SlotRow.day) <= last)
    days = sorted({slot.day for slot in session.exec(asked)})
    views = tuple(view for day in days for view in groups_of(session, day))
    return Scope(session, house, shop, first, last, views)


def group_scope(session: Session, house: House, shop: Shop, group_id: int) -> Scope:
    """Return one group; raises NotHere."""
    view = group_view(session, group_id)
    return Scope(session, house, shop, view.slot.day, view.slot.day, (view,), GROUP)


def guest_scope(session: Session, house: House, shop: Shop, guest_id: int, day: date) -> Scope:
    """Return one guest's own lines, from every group that the guest was or is in."""
    asked = select(MemberRow).where(MemberRow.guest_id == guest_id)
    numbers = sorted({member.group_id for member in session.exec(asked)})
    views = tuple(group_view(session, number) for number in numbers)
    days = [day, *(view.slot.day for view in views)]
    return Scope(session, house, shop, min(days), max(days), views, GUEST, guest_id)


def table(key: str, title: str, rows: Iterable[R], columns: Sequence[Column[R]]) -> ExportTable:
    """Return a table: each column is its title, with the unit, and how a row gives its value."""
    lines = tuple(tuple(value(row) for _, value in columns) for row in rows)
    return ExportTable(key, title, tuple(name for name, _ in columns), lines)


def rounded(value: float | None, digits: int) -> float | None:
    """Return a figure as long as it means something."""
    return None if value is None else round(value, digits)


Maker = Callable[[Scope], ExportTable]
