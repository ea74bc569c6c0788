"""When chores last ran and how they ended."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, func, select

from app.records.tables.keeping import ChoreRunRow


@dataclass(frozen=True)
class LastRuns:
    """The newest run of a chore, and the newest that went well; None for never."""

    newest: ChoreRunRow | None = None
    good: ChoreRunRow | None = None

    @property
    def last_try(self) -> datetime | None:
        """When it last began."""
        return self.newest.began_at if self.newest else None

    @property
    def last_good(self) -> datetime | None:
        """When it last began and went well."""
        return self.good.began_at if self.good else None


def last_runs(session: Session) -> dict[str, LastRuns]:
    """Return the newest runs of every chore that ever ran."""
    newest, good = _newest(session), _newest(session, col(ChoreRunRow.went_well))
    return {name: LastRuns(run, good.get(name)) for name, run in newest.items()}


def runs_of(session: Session, chore: str, most: int = 20) -> list[ChoreRunRow]:
    """Return the newest runs of one chore, newest first."""
    found = select(ChoreRunRow).where(ChoreRunRow.chore == chore).order_by(col(ChoreRunRow.id).desc())
    return list(session.exec(found.limit(most)))


def failing(session: Session, chores: Iterable[str]) -> list[ChoreRunRow]:
    """Return the newest run of each of these chores that did not go well."""
    last = last_runs(session)
    runs = [last[name].newest for name in chores if name in last]
    return [run for run in runs if run is not None and not run.went_well]


def _newest(session: Session, *asked: object) -> dict[str, ChoreRunRow]:
    ids = select(func.max(ChoreRunRow.id)).where(*asked).group_by(col(ChoreRunRow.chore))  # type: ignore[arg-type]
    return {row.chore: row for row in session.exec(select(ChoreRunRow).where(col(ChoreRunRow.id).in_(ids)))}
