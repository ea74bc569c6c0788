"""Lead as counted: what the shop owns, what is with guests, what must lie on the rail."""

from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from app.records.tables.kit import WeightsRow
from app.records.tables.kit_keeping import LeadStockRow


@dataclass(frozen=True)
class LeadOnTheRail:
    """The shop's lead in kg. counts: the newest count of each piece weight, lightest first."""

    counts: tuple[LeadStockRow, ...]
    out_kg: float

    @property
    def owned_kg(self) -> float:
        """All that was counted."""
        return sum(row.piece_kg * row.pieces for row in self.counts)

    @property
    def left_kg(self) -> float:
        """What is not with guests; below nothing when more was given out than was ever counted."""
        return self.owned_kg - self.out_kg


def lead_on_the_rail(session: Session) -> LeadOnTheRail:
    """Return the lead that the shop owns and how much of it is with guests now."""
    newest = select(func.max(col(LeadStockRow.id))).group_by(col(LeadStockRow.piece_kg))
    rows = session.exec(
        select(LeadStockRow).where(col(LeadStockRow.id).in_(newest)).order_by(col(LeadStockRow.piece_kg))
    )
    out = session.exec(select(func.sum(WeightsRow.given_kg)).where(col(WeightsRow.back_at).is_(None))).one()
    return LeadOnTheRail(tuple(rows), float(out or 0))
