"""All incidents over time: open ones first, by kind, and against the guests who went in."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, func, select

from app.records.look_back.incident_file import TaskView, tasks_of
from app.records.tables.days import IncidentRow
from app.records.tables.groups import GroupRow, MemberRow
from app.records.tables.parties import SlotRow
from app.records.tables.water import WaterEventRow
from app.rules.incident_rates import Told, told

# A page of a year's incidents stays light; what is further back is a year of its own.
MOST_ROWS = 60


@dataclass(frozen=True)
class Listed:
    """One incident in the list, with its open follow-ups."""

    row: IncidentRow
    open_tasks: tuple[TaskView, ...]

    @property
    def is_open(self) -> bool:
        """Whether somebody still has to do something: it is not read, or a follow-up is open."""
        return bool(self.open_tasks) or self.row.read_at is None


@dataclass(frozen=True)
class IncidentYear:
    """The incidents of a year. years: every year that has any, the newest first; left_out: rows not shown."""

    year: int
    years: tuple[int, ...]
    listed: tuple[Listed, ...]
    left_out: int
    whole: Told
    kinds: Mapping[str, Told]
    by_year: Mapping[int, Told]


def incident_year(session: Session, year: int, kind: str = "") -> IncidentYear:
    """Return the incidents of a year, of one kind or of all. The count of queries does not grow."""
    counts = _counts(session)
    guests = _guests(session)
    mine = select(IncidentRow).where(
        col(IncidentRow.day) >= date(year, 1, 1), col(IncidentRow.day) <= date(year, 12, 31)
    )
    if kind:
        mine = mine.where(IncidentRow.category == kind)
    rows = list(session.exec(mine.order_by(col(IncidentRow.day).desc(), col(IncidentRow.id).desc())))
    listed = _listed(session, rows)
    of_year = {category: number for (when, category), number in counts.items() if when == year}
    people = guests.get(year, 0)
    years = {when for when, _ in counts}
    return IncidentYear(
        year,
        tuple(sorted(years | {year}, reverse=True)),
        tuple(listed[:MOST_ROWS]),
        max(len(listed) - MOST_ROWS, 0),
        told(sum(of_year.values()), people),
        {category: told(number, people) for category, number in sorted(of_year.items())},
        {
            when: told(sum(n for (other, _), n in counts.items() if other == when), guests.get(when, 0))
            for when in sorted(years | set(guests), reverse=True)
        },
    )


def _listed(session: Session, rows: Iterable[IncidentRow]) -> list[Listed]:
    wanted = list(rows)
    tasks: dict[int, list[TaskView]] = {}
    for one in tasks_of(session, [row.id or 0 for row in wanted]):
        if one.row.done_at is None:
            tasks.setdefault(one.row.incident_id, []).append(one)
    listed = [Listed(row, tuple(tasks.get(row.id or 0, ()))) for row in wanted]
    return sorted(listed, key=lambda one: (not one.open_tasks, not one.is_open))


def _counts(session: Session) -> Counter[tuple[int, str]]:
    counts: Counter[tuple[int, str]] = Counter()
    asked = select(col(IncidentRow.day), col(IncidentRow.category), func.count()).group_by(
        col(IncidentRow.day), col(IncidentRow.category)
    )
    for day, category, number in session.exec(asked):
        counts[day.year, category] += number
    return counts


def _guests(session: Session) -> dict[int, int]:
    """Return how many guests went into the water in each year: a guest who dives twice counts twice."""
    asked = (
        select(col(SlotRow.day), func.count(func.distinct(MemberRow.id)))
        .join(GroupRow, col(GroupRow.slot_id) == SlotRow.id)
        .join(MemberRow, col(MemberRow.group_id) == GroupRow.id)
        .join(WaterEventRow, col(WaterEventRow.member_id) == MemberRow.id)
        .where(col(MemberRow.guest_id).is_not(None), WaterEventRow.event == "in")
        .group_by(col(SlotRow.day))
    )
    guests: dict[int, int] = {}
    for day, number in session.exec(asked):
        guests[day.year] = guests.get(day.year, 0) + number
    return guests
