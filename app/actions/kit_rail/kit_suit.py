"""What a suit is: how much it covers, how thick it is, which model: lead and what checks teach hang on it."""

from app.actions.act import Act
from app.records.store.problems import NotHere
from app.records.tables.kit import KitItemRow

SUIT_LABELS = {"cover": "Covers", "thickness_mm": "Thickness in mm", "model": "Model"}


def describe_suit(
    act: Act, item_id: int, version: int, cover: str, thickness_mm: float, model: str
) -> KitItemRow:
    """Write down what a suit is; raises Clash, NotHere for an item that is no suit."""
    item = act.get(KitItemRow, item_id)
    if item.kind != "suit":
        raise NotHere(f"suit {item_id}")
    values = {"cover": cover, "thickness_mm": thickness_mm, "model": model}
    act.edit(item, version, values, SUIT_LABELS)
    act.about = ("kit_item", str(item_id))
    return item
