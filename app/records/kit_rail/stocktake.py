"""Stocktakes as read: the open one, what was marked, and what each item counts as."""

from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.records.kit_rail import kit
from app.records.kit_rail.kit import ItemView
from app.records.store.problems import NotHere
from app.records.tables.kit_keeping import StocktakeMarkRow, StocktakeRow
from app.rules.stocktake import DIFFERENCES, Looked, Standing, standing


@dataclass(frozen=True)
class Counted:
    """One item of a stocktake: what it counts as, and the newest word on it."""

    view: ItemView
    standing: Standing
    mark: StocktakeMarkRow | None


@dataclass(frozen=True)
class StocktakeView:
    """One stocktake with every item of the rail, in the order of the rail."""

    row: StocktakeRow
    items: tuple[Counted, ...]

    def those(self, *wanted: Standing) -> list[Counted]:
        """The items that count as one of these."""
        return [one for one in self.items if one.standing in wanted]

    @property
    def open_differences(self) -> list[Counted]:
        """What a person still has to settle."""
        return self.those(*DIFFERENCES)

    def in_words(self) -> str:
        """The result in one line: how many are where, and the numbers of what is lost."""
        parts = []
        for one in Standing:
            found = self.those(one)
            if found:
                numbers = ", ".join(item.view.row.number for item in found)
                many = one in (Standing.SEEN, Standing.OUT)
                parts.append(f"{len(found)} {one}" + ("" if many else f": {numbers}"))
        return "; ".join(parts) or "nothing on the rail"


def stocktakes(session: Session) -> list[StocktakeRow]:
    """Return every stocktake, newest first."""
    return list(session.exec(select(StocktakeRow).order_by(col(StocktakeRow.id).desc())))


def open_stocktake(session: Session) -> StocktakeRow | None:
    """Return the stocktake that is going on; None when there is none."""
    return session.exec(select(StocktakeRow).where(col(StocktakeRow.closed_at).is_(None))).first()


def stocktake(session: Session, stocktake_id: int) -> StocktakeView:
    """Return one stocktake as it stands now; raises NotHere."""
    row = session.get(StocktakeRow, stocktake_id)
    if row is None:
        raise NotHere(f"stocktake {stocktake_id}")
    newest = (
        select(func.max(col(StocktakeMarkRow.id)))
        .where(StocktakeMarkRow.stocktake_id == stocktake_id)
        .group_by(col(StocktakeMarkRow.item_id))
    )
    found = session.exec(select(StocktakeMarkRow).where(col(StocktakeMarkRow.id).in_(newest)))
    marks = {mark.item_id: mark for mark in found}
    items = []
    for view in kit.items(session):
        mark = marks.get(view.row.id or 0)
        looked = Looked(
            out_at=None if view.out is None else view.out.out_at,
            aside=view.row.out_of_use_since is not None,
            mark="" if mark is None else mark.mark,
            marked_at=None if mark is None else mark.at,
        )
        items.append(Counted(view, standing(looked), mark))
    return StocktakeView(row, tuple(items))
