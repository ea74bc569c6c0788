"""Kit rail: a stocktake with the phone in hand, gone on with by anybody, and lead counted by hand."""

from collections.abc import Callable

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.kit_rail import lead_stock as lead_acts
from app.actions.kit_rail import stocktake as acts
from app.records.kit_rail import lead_stock
from app.records.kit_rail import stocktake as records
from app.records.store.problems import NotHere
from app.records.tables.kit_keeping import LeadStockRow, StocktakeRow
from app.rules.kit import KINDS
from app.rules.stocktake import DIFFERENCES, HERE, SETTLED, WALKED, WAYS, Standing
from app.web.front import Desk, Front
from app.web.kit_rail.scan import number_read
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm, button_only

router = APIRouter()
HEAVIEST_PIECE_KG, MOST_PIECES = 10, 1000
WAY_WORDS = {"found": "Found, it is here", "lost": "Lost", "still out": "Still out", "is back": "It is back"}


@router.get("/kit/stocktakes", name="stocktakes")
def stocktakes(front: Desk) -> Response:
    """Show the stocktakes so far, and the one that is going on."""
    return _list_page(front)


@router.post("/kit/stocktakes", name="begin_stocktake")
def begin_stocktake(front: Desk, posted: PostedForm) -> Response:
    """Begin a stocktake, or go on with the open one."""
    return front.do(
        posted,
        button_only(posted, acts.begin_stocktake),
        then=lambda row: f"/kit/stocktakes/{row.id}",
        again=lambda problem: _list_page(front, problem),
    )


@router.get("/kit/stocktakes/{stocktake_id}", name="stocktake")
def stocktake(front: Desk, stocktake_id: int) -> Response:
    """Show one kind of the rail to tick off, or the result."""
    return _page(front, stocktake_id)


@router.post("/kit/stocktakes/{stocktake_id}/scan", name="scan_stocktake")
def scan_stocktake(front: Desk, posted: PostedForm, stocktake_id: int) -> Response:
    """Mark the item with this number as here."""

    def mark(act: Act) -> None:
        fields = posted.fields()
        number = number_read(fields)
        fields.done()
        acts.mark_number(act, stocktake_id, number, HERE)

    return _do(front, posted, stocktake_id, mark)


@router.post("/kit/stocktakes/{stocktake_id}/items/{item_id}", name="mark_stocktake")
def mark_stocktake(front: Desk, posted: PostedForm, stocktake_id: int, item_id: int) -> Response:
    """Mark an item as here, or not here after all."""

    def mark(act: Act) -> None:
        fields = posted.fields()
        said = fields.choice("mark", "whether it is here", WALKED)
        fields.done()
        acts.mark_item(act, stocktake_id, item_id, said)

    return _do(front, posted, stocktake_id, mark)


@router.post("/kit/stocktakes/{stocktake_id}/items/{item_id}/settle", name="settle_difference")
def settle_difference(front: Desk, posted: PostedForm, stocktake_id: int, item_id: int) -> Response:
    """Settle a difference: found, lost, still out, or back."""

    def settle(act: Act) -> None:
        fields = posted.fields()
        how = fields.choice("how", "how it is settled", SETTLED)
        fields.done()
        acts.settle_difference(act, stocktake_id, item_id, how)

    return _do(front, posted, stocktake_id, settle, "?differences")


@router.post("/kit/stocktakes/{stocktake_id}/close", name="close_stocktake")
def close_stocktake(front: Desk, posted: PostedForm, stocktake_id: int) -> Response:
    """Close a stocktake whose differences are settled."""
    run = button_only(posted, lambda act: acts.close_stocktake(act, stocktake_id, posted.edits))
    return _do(front, posted, stocktake_id, run, "?differences")


@router.get("/kit/lead", name="lead_on_rail")
def lead_on_rail(front: Desk) -> Response:
    """Show the shop's lead: counted, with guests, on the rail."""
    return _lead_page(front)


@router.post("/kit/lead", name="count_lead")
def count_lead(front: Desk, posted: PostedForm) -> Response:
    """Write down how many pieces of one weight there are."""

    def count(act: Act) -> LeadStockRow:
        fields = posted.fields()
        piece_kg = fields.required_number("piece_kg", "Weight of one piece", 0.1, HEAVIEST_PIECE_KG, "kg")
        pieces = fields.whole("pieces", "Pieces", 0, MOST_PIECES)
        fields.done()
        return lead_acts.count_lead(act, piece_kg, pieces or 0)

    return front.do(
        posted, count, then=lambda _: "/kit/lead", again=lambda problem: _lead_page(front, problem)
    )


def _do(
    front: Front, posted: Posted, stocktake_id: int, action: Callable[[Act], object], then: str = ""
) -> Response:
    records.stocktake(front.session, stocktake_id)
    kind = front.request.query_params.get("kind", "")
    there = f"?kind={kind}" if kind in KINDS and not then else then
    return front.do(
        posted,
        action,
        then=lambda _: f"/kit/stocktakes/{stocktake_id}{there}",
        again=lambda problem: _page(front, stocktake_id, problem),
    )


def _list_page(front: Front, problem: ProblemView | None = None) -> Response:
    return front.page(
        "kit_rail/stocktakes.html",
        "Stocktake of the rail",
        problem=problem,
        going_on=records.open_stocktake(front.session),
        rows=[row for row in records.stocktakes(front.session) if row.closed_at is not None],
        day_of=front.shop.day_of,
    )


def _page(front: Front, stocktake_id: int, problem: ProblemView | None = None) -> Response:
    view = records.stocktake(front.session, stocktake_id)
    asked = front.request.query_params
    ends = problem is not None and problem.action in ("settle_difference", "close_stocktake")
    if view.row.closed_at is not None or "differences" in asked or ends:
        return _end_page(front, view, problem)
    kind = asked.get("kind", "suit")
    if kind not in KINDS:
        raise NotHere("no such kind")
    to_see = {Standing.MISSING, Standing.ASIDE}
    left = {
        one: sum(1 for c in view.items if c.view.row.kind == one and c.standing in to_see) for one in KINDS
    }
    there = {one for one in KINDS if any(c.view.row.kind == one for c in view.items)}
    return front.page(
        "kit_rail/stocktake.html",
        "Stocktake",
        problem=problem,
        row=view.row,
        items=[one for one in view.items if one.view.row.kind == kind],
        kinds=[(one, words, left[one]) for one, words in KINDS.items() if one in there or one == kind],
        chosen=kind,
        seen=sum(1 for one in view.items if one.standing in (Standing.SEEN, Standing.ASIDE_SEEN)),
        left=sum(left.values()),
        standing=Standing,
    )


def _end_page(front: Front, view: records.StocktakeView, problem: ProblemView | None) -> Response:
    row: StocktakeRow = view.row
    return front.page(
        "kit_rail/stocktake_end.html",
        "What the stocktake found",
        problem=problem,
        row=row,
        groups=[
            (one, view.those(one), [(way, WAY_WORDS[way]) for way in WAYS.get(one, ())])
            for one in (
                Standing.MISSING, Standing.UNEXPECTED, Standing.LOST, Standing.ELSEWHERE,
                Standing.ASIDE, Standing.ASIDE_SEEN, Standing.OUT,
            )
            if view.those(one)
        ],
        open_now=len(view.open_differences),
        differences=DIFFERENCES,
        here=len(view.those(Standing.SEEN)),
        day_of=front.shop.day_of,
    )  # fmt: skip


def _lead_page(front: Front, problem: ProblemView | None = None) -> Response:
    return front.page(
        "kit_rail/lead.html",
        "Lead on the rail",
        problem=problem,
        lead=lead_stock.lead_on_the_rail(front.session),
        day_of=front.shop.day_of,
        most=MOST_PIECES,
    )
