"""Earlier dives from the shop's paper: the lists stored, and which of their lines are here already."""

from collections import Counter
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from app.records.store.problems import NotHere
from app.records.tables.breathing import EarlierBatchRow, EarlierDiveRow, EarlierTakenBackRow


@dataclass(frozen=True)
class EarlierDive:
    """One earlier dive of a guest, without a name. bar, L, min, m, kg, °C."""

    dived_on: date
    mass_kg: float
    litres: float
    start_bar: float
    end_bar: float
    minutes: float
    mean_depth_m: float
    water_temp_c: float | None = None


@dataclass(frozen=True)
class Batch:
    """A stored list. gone: who took it back and why; None while it counts."""

    row: EarlierBatchRow
    gone: EarlierTakenBackRow | None


def batches(session: Session) -> list[Batch]:
    """Return every stored list, newest first."""
    gone = {row.batch_id: row for row in session.exec(select(EarlierTakenBackRow))}
    rows = session.exec(select(EarlierBatchRow).order_by(col(EarlierBatchRow.id).desc()))
    return [Batch(row, gone.get(row.id or 0)) for row in rows]


def batch(session: Session, batch_id: int) -> Batch:
    """Return one stored list; raises NotHere."""
    row = session.get(EarlierBatchRow, batch_id)
    if row is None:
        raise NotHere(f"earlier dives {batch_id}")
    asked = select(EarlierTakenBackRow).where(EarlierTakenBackRow.batch_id == batch_id)
    return Batch(row, session.exec(asked).first())


def here_already(session: Session) -> Counter[EarlierDive]:
    """Return the earlier dives that count, each with how often it is there."""
    gone = select(EarlierTakenBackRow.batch_id)
    rows = session.exec(select(EarlierDiveRow).where(col(EarlierDiveRow.batch_id).not_in(gone)))
    return Counter(
        EarlierDive(
            row.dived_on,
            row.mass_kg,
            row.litres,
            row.start_bar,
            row.end_bar,
            row.minutes,
            row.mean_depth_m,
            row.water_temp_c,
        )
        for row in rows
    )


def new_ones(session: Session, dives: list[EarlierDive]) -> list[EarlierDive]:
    """Return the dives of a list that are not here yet; the same line twice in one list is two dives."""
    left, found = here_already(session), []
    for dive in dives:
        if left[dive] > 0:
            left[dive] -= 1
        else:
            found.append(dive)
    return found
