"""Kit rail: something is wrong with an item, rinsing, and what is due for service."""

from collections.abc import Callable
from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.kit_rail import kit_care as acts
from app.records.kit_rail import kit, kit_faults
from app.records.setup import shop as shop_records
from app.records.tables.kit_keeping import KitFaultRow
from app.rules.kit import service_asked
from app.rules.limits import KIT_SERVICE_EVERY, KIT_SERVICE_NOTICE
from app.web.front import Desk, Front
from app.web.kit_rail.pages import rail_page, slot_asked
from app.web.kit_rail.stock import FIRST_DAY, item_page
from app.web.pages import ProblemView
from app.web.posted import Posted, PostedForm, button_only

router = APIRouter()
LINE_LENGTH = 200


@router.post("/kit/items/{item_id}/fault", name="report_kit_fault")
def report_kit_fault(front: Desk, posted: PostedForm, item_id: int) -> Response:
    """Set an item aside because something is wrong; what it is, is asked on the page that follows."""
    kit.item(front.session, item_id)
    return _item(front, posted, item_id, button_only(posted, lambda act: acts.report_kit_fault(act, item_id)))


@router.post("/kit/faults/{fault_id}/what", name="describe_kit_fault")
def describe_kit_fault(front: Desk, posted: PostedForm, fault_id: int) -> Response:
    """Write in one line what is wrong."""
    item_id = kit_faults.fault(front.session, fault_id).item_id

    def describe(act: Act) -> KitFaultRow:
        fields = posted.fields()
        what = fields.text("what", "what is wrong", most=LINE_LENGTH)
        fields.done()
        return acts.describe_kit_fault(act, fault_id, posted.edits, what)

    return _item(front, posted, item_id, describe)


@router.post("/kit/faults/{fault_id}/seen", name="see_kit_fault")
def see_kit_fault(front: Desk, posted: PostedForm, fault_id: int) -> Response:
    """Take a fault off Today: the lead has seen it."""
    item_id = kit_faults.fault(front.session, fault_id).item_id
    run = button_only(posted, lambda act: acts.see_kit_fault(act, fault_id, posted.edits))
    return _item(front, posted, item_id, run)


@router.post("/kit/rinsed", name="mark_rinsed")
def mark_rinsed(front: Desk, posted: PostedForm) -> Response:
    """Say that what came back is clean and dry: one item, or all that wait (``?item=7``: from its page)."""
    limits = shop_records.limits_now(front.session)
    known = {
        str(view.last.id)
        for view in kit.items(front.session)
        if view.last is not None and (view.wet_until(front.now, limits) or view.facts.rinsed)
    }

    def mark(act: Act) -> None:
        fields = posted.fields()
        chosen = fields.several("loan", "what is rinsed", known)
        if not chosen and "loan" not in fields.errors:
            fields.wrong("loan", "Choose what is rinsed.")
        fields.done()
        acts.mark_rinsed(act, [int(one) for one in chosen])

    return _from_rail_or_item(front, posted, mark)


@router.post("/kit/loans/{loan_id}/not-rinsed", name="not_rinsed")
def not_rinsed(front: Desk, posted: PostedForm, loan_id: int) -> Response:
    """Undo a mark of rinsed."""
    item_id = kit.loan(front.session, loan_id).row.item_id
    return _item(
        front, posted, item_id, button_only(posted, lambda act: acts.not_rinsed(act, loan_id, posted.edits))
    )


@router.get("/kit/service", name="kit_service")
def kit_service(front: Desk) -> Response:
    """Show what is due for service."""
    return _service_page(front)


@router.post("/kit/service", name="service_several")
def service_several(front: Desk, posted: PostedForm) -> Response:
    """Write down one service for several items."""

    def service(act: Act) -> None:
        fields = posted.fields()
        known = {str(view.row.id) for view in kit.items(act.session)}
        chosen = fields.several("item", "the items that were serviced", known)
        if not chosen and "item" not in fields.errors:
            fields.wrong("item", "Tick the items that were serviced.")
        on = fields.date3("serviced", "the day of the service", FIRST_DAY, front.today)
        fields.done()
        acts.service_several(act, [int(one) for one in chosen], on or front.today)

    return front.do(
        posted,
        service,
        then=lambda _: "/kit/service",
        again=lambda problem: _service_page(front, problem),
    )


def _from_rail_or_item(front: Front, posted: Posted, action: Callable[[Act], object]) -> Response:
    asked = front.request.query_params.get("item", "")
    if asked.isdecimal() and len(asked) < len(str(10**9)):
        return _item(front, posted, kit.item(front.session, int(asked)).row.id or 0, action)
    slot = slot_asked(front)
    return front.do(
        posted,
        action,
        then=lambda _: "/kit" if slot is None else f"/kit?slot={slot.slot.id}",
        again=lambda problem: rail_page(front, slot, problem),
    )


def _item(front: Front, posted: Posted, item_id: int, action: Callable[[Act], object]) -> Response:
    return front.do(
        posted,
        action,
        then=lambda _: f"/kit/items/{item_id}",
        again=lambda problem: item_page(front, item_id, problem),
    )


def _service_page(front: Front, problem: ProblemView | None = None) -> Response:
    limits = shop_records.limits_now(front.session)
    due = [view for view in kit.items(front.session) if service_asked(view.facts, front.today, limits)]
    due.sort(key=lambda view: view.row.service_due or FIRST_DAY)
    sent = problem is not None and problem.action == "service_several"
    return front.page(
        "kit_rail/service.html",
        "Kit due for service",
        problem=problem,
        due=due,
        kept=problem.lists.get("item", ()) if problem is not None and sent else (),
        notice=limits[KIT_SERVICE_NOTICE],
        until=front.today + timedelta(days=limits[KIT_SERVICE_NOTICE].number or 0),
        every=limits[KIT_SERVICE_EVERY],
    )
