"""Kit rail: the items themselves: what hangs there, out of use and back, service, a new item."""

from collections import Counter
from collections.abc import Callable
from datetime import date, datetime

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.kit_rail import kit as acts
from app.records.kit_rail import kit, kit_faults, kit_offers
from app.records.kit_rail.kit import ItemView
from app.records.setup import shop as shop_records
from app.records.store.problems import NotHere
from app.records.tables.kit import KitItemRow
from app.rules.kit import KINDS, SERVICED, SIZES, how_to_clean, may_give
from app.rules.limits import KIT_SERVICE_EVERY
from app.rules.resolve import Limits
from app.web.access import DESK, INSTRUCTOR, LEAD, MANAGER
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm

router = APIRouter()
FIRST_DAY = date(2000, 1, 1)
THINNEST_MM, THICKEST_MM = 0.5, 10
# Whoever handles kit may say that something is wrong with it.
THICK = ("suit", "hood", "gloves")
REPORTERS = (DESK, INSTRUCTOR, LEAD, MANAGER)
# As many guests as an item's page offers to give it to: more would hide the rest of the page.
MOST_GUESTS = 6


@router.get("/kit/items", name="kit_items")
def kit_items(front: Desk) -> Response:
    """Show the items of one kind, and how many there are of each."""
    chosen = front.request.query_params.get("kind", "suit")
    if chosen not in KINDS:
        raise NotHere("no such kind")
    views = kit.items(front.session)
    counts = Counter(view.row.kind for view in views)
    limits = shop_records.limits_now(front.session)
    return front.page(
        "kit_rail/items.html",
        "Items on the rail",
        views=[
            (view, item_state(view, front.today, front.now, limits))
            for view in views
            if view.row.kind == chosen
        ],
        aside=[view for view in views if view.row.out_of_use_since is not None],
        kinds=[(kind, words, counts[kind]) for kind, words in KINDS.items()],
        chosen=chosen,
        may_add=front.visitor.has(DESK, MANAGER),
    )


@router.get("/kit/items/new", name="add_kit_item_page")
def add_kit_item_page(front: Desk) -> Response:
    """Show an empty form for an item; ``?kind=`` says of which kind."""
    kind = front.request.query_params.get("kind", "suit")
    if kind not in KINDS:
        raise NotHere("no such kind")
    return _add_page(front, kind)


@router.post("/kit/items", name="add_kit_item")
def add_kit_item(front: Desk, posted: PostedForm) -> Response:
    """Add an item to the rail."""
    kind = posted.values.get("kind", "")

    def add(act: Act) -> KitItemRow:
        fields = posted.fields()
        fields.choice("kind", "the kind", list(KINDS))
        sizes = SIZES.get(kind, ())
        number = fields.text("number", "the number on the item", most=20)
        size = fields.choice("size", "the size", sizes) if sizes else ""
        thick = None
        if kind in THICK:
            thick = fields.required_number("thickness_mm", "Thickness", THINNEST_MM, THICKEST_MM, "mm")
        serviced = None
        if kind in SERVICED:
            serviced = fields.date3("serviced", "the day of the last service", FIRST_DAY, front.today)
        fields.done()
        return acts.add_kit_item(act, kind, number, size, thick, serviced)

    return front.do(
        posted,
        add,
        then=lambda row: f"/kit/items/{row.id}",
        again=lambda problem: _add_page(front, kind if kind in KINDS else "suit", problem),
    )


@router.get("/kit/items/{item_id}", name="kit_item")
def kit_item(front: Desk, item_id: int) -> Response:
    """Show one item."""
    return item_page(front, item_id)


@router.post("/kit/items/{item_id}/aside", name="set_kit_aside")
def set_kit_aside(front: Desk, posted: PostedForm, item_id: int) -> Response:
    """Put an item out of use."""

    def aside(act: Act) -> None:
        fields = posted.fields()
        why = fields.note("why", "why it is out of use", needed=True)
        fields.done()
        acts.set_kit_aside(act, item_id, posted.edits, why)

    return _one(front, posted, item_id, aside)


@router.post("/kit/items/{item_id}/back-in-use", name="kit_back_in_use")
def kit_back_in_use(front: Desk, posted: PostedForm, item_id: int) -> Response:
    """Take an item back into use."""

    def lift(act: Act) -> None:
        fields = posted.fields()
        found = fields.note("found", "what was found and done", needed=True)
        fields.done()
        acts.kit_back_in_use(act, item_id, posted.edits, found)

    return _one(front, posted, item_id, lift)


@router.post("/kit/items/{item_id}/serviced", name="kit_serviced")
def kit_serviced(front: Desk, posted: PostedForm, item_id: int) -> Response:
    """Write down a service."""

    def service(act: Act) -> None:
        fields = posted.fields()
        on = fields.date3("serviced", "the day of the service", FIRST_DAY, front.today)
        fields.done()
        acts.kit_serviced(act, item_id, posted.edits, on or front.today)

    return _one(front, posted, item_id, service)


def item_state(view: ItemView, day: date, now: datetime, limits: Limits) -> tuple[str, str]:
    """Return an item's state in a word, and its shape."""
    if view.row.out_of_use_since is not None:
        return "out of use", "triangle"
    if view.out is not None:
        return "out", "square"
    if may_give(view.facts, day, now, limits).allowed:
        return "free", "dot"
    return ("due for service", "triangle") if view.wet_until(now, limits) is None else ("to rinse", "ring")


def _one(front: Front, posted: Posted, item_id: int, action: Callable[[Act], object]) -> Response:
    return front.do(
        posted,
        action,
        then=lambda _: f"/kit/items/{item_id}",
        again=lambda problem: item_page(front, item_id, problem),
    )


def item_page(front: Front, item_id: int, problem: ProblemView | None = None) -> Response:
    """Show one item: the obvious next act first, then its state, faults, service and who had it."""
    view = kit.item(front.session, item_id)
    limits = shop_records.limits_now(front.session)
    may_hand_out = front.visitor.has(DESK, LEAD)
    free = may_give(view.facts, front.today, front.now, limits).allowed
    lacks = (
        kit_offers.who_lacks(front.session, view, front.today, front.now, MOST_GUESTS)
        if may_hand_out and free
        else []
    )
    return front.page(
        "kit_rail/item.html",
        f"{view.row.kind.capitalize()} {view.row.number}",
        problem=problem,
        view=view,
        item=view.row,
        state=item_state(view, front.today, front.now, limits),
        back_about=view.back_about(front.now, limits),
        wet_until=view.wet_until(front.now, limits),
        clean=how_to_clean(view.row.kind),
        lacks=lacks,
        faults=kit_faults.faults_of(front.session, item_id),
        uses=kit_faults.uses_on(front.session, [item_id], front.today).get(item_id, []),
        serviced=view.row.kind in SERVICED,
        every=limits[KIT_SERVICE_EVERY],
        history=kit.item_history(front.session, item_id),
        day_of=front.shop.day_of,
        may_give=may_hand_out,
        may_report=front.visitor.has(*REPORTERS),
        may_see=front.visitor.has(LEAD, MANAGER),
        may_change=front.visitor.has(DESK, MANAGER),
    )


def _add_page(front: Front, kind: str, problem: ProblemView | None = None) -> Response:
    return front.page(
        "kit_rail/new.html",
        "Add an item",
        problem=problem,
        kind=kind,
        kinds=list(KINDS.items()),
        sizes=[("", "Choose"), *((size, size) for size in SIZES[kind])] if SIZES[kind] else [],
        serviced=kind in SERVICED,
        thick=kind in THICK,
    )
