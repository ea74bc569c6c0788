"""A stocktake of the rail: begun by one, walked by any, each difference settled by a person, then closed."""

from app.actions.act import Act, Invalid
from app.actions.kit_rail.kit import LOAN_LABELS, set_kit_aside
from app.records.kit_rail import kit
from app.records.kit_rail import stocktake as records
from app.records.kit_rail.stocktake import Counted, StocktakeView
from app.records.tables.kit_keeping import StocktakeMarkRow, StocktakeRow
from app.rules.stocktake import IS_BACK, LOST, WAYS

LABELS = {"closed_at": "Closed at", "closed_by": "Closed by", "result": "Result"}


def begin_stocktake(act: Act) -> StocktakeRow:
    """Begin a stocktake; one that is going on already is gone on with."""
    going_on = records.open_stocktake(act.session)
    row = going_on or act.add(StocktakeRow(begun_at=act.now, begun_by=act.actor.name))
    act.about = ("stocktake", str(row.id))
    return row


def mark_item(act: Act, stocktake_id: int, item_id: int, mark: str) -> StocktakeMarkRow:
    """Say that an item is here, or not here after all. Changes nothing else. Raises Invalid, NotHere."""
    view = _open(act, stocktake_id)
    _one(view, item_id)
    return _say(act, stocktake_id, item_id, mark)


def mark_number(act: Act, stocktake_id: int, number: str, mark: str) -> StocktakeMarkRow:
    """Like ``mark_item``, for what a scanner or a person types. Raises Invalid for an unknown number."""
    item = kit.item_by_number(act.session, number)
    if item is None:
        raise Invalid({"number": f"Nothing on the rail bears the number {number}. Set it aside and ask."})
    return mark_item(act, stocktake_id, item.row.id or 0, mark)


def settle_difference(act: Act, stocktake_id: int, item_id: int, how: str) -> StocktakeMarkRow:
    """Settle one difference: found, lost (goes out of use), still out, or is back (is taken back).

    Raises Invalid when there is nothing to settle, or not in this way: somebody was quicker.
    """
    view = _open(act, stocktake_id)
    counted = _one(view, item_id)
    if how not in WAYS.get(counted.standing, ()):
        raise Invalid({"how": f"{counted.view.row.number} is {counted.standing} now. Nothing was changed."})
    item = counted.view
    if how == LOST:
        set_kit_aside(act, item_id, item.row.version, f"Lost: not found at stocktake {stocktake_id}.")
    if how == IS_BACK and item.out is not None:
        act.edit(item.out, None, {"back_at": act.now, "back_by": act.actor.name}, LOAN_LABELS)
    return _say(act, stocktake_id, item_id, how)


def close_stocktake(act: Act, stocktake_id: int, version: int) -> StocktakeRow:
    """Close a stocktake once every difference is settled. Raises Invalid, Clash, NotHere."""
    view = _open(act, stocktake_id)
    left = view.open_differences
    if left:
        numbers = ", ".join(one.view.row.number for one in left)
        raise Invalid({"form": f"Not settled yet: {numbers}. Settle each first."})
    values = {"closed_at": act.now, "closed_by": act.actor.name, "result": view.in_words()}
    act.edit(view.row, version, values, LABELS)
    act.about = ("stocktake", str(stocktake_id))
    return view.row


def _open(act: Act, stocktake_id: int) -> StocktakeView:
    view = records.stocktake(act.session, stocktake_id)
    if view.row.closed_at is not None:
        raise Invalid({"form": f"This stocktake was closed by {view.row.closed_by}. Begin a new one."})
    return view


def _one(view: StocktakeView, item_id: int) -> Counted:
    found = next((one for one in view.items if one.view.row.id == item_id), None)
    if found is None:
        raise Invalid({"number": "This is no item of the rail. Open the page again."})
    return found


def _say(act: Act, stocktake_id: int, item_id: int, mark: str) -> StocktakeMarkRow:
    act.about = ("stocktake", str(stocktake_id))
    said = StocktakeMarkRow(
        stocktake_id=stocktake_id, item_id=item_id, mark=mark, at=act.now, by=act.actor.name
    )
    return act.add(said)
