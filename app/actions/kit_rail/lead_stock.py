"""Lead of the shop: counted by hand, piece by piece weight."""

from app.actions.act import Act
from app.records.tables.kit_keeping import LeadStockRow


def count_lead(act: Act, piece_kg: float, pieces: int) -> LeadStockRow:
    """Write down how many pieces of one weight in kg the shop owns; the newest count of a weight counts."""
    return act.add(LeadStockRow(piece_kg=piece_kg, pieces=pieces, at=act.now, by=act.actor.name))
