"""Gas room: adding a cylinder, changing what is stamped on it, retiring it."""

from datetime import date
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.gas_room import cylinder_stock
from app.records.gas_room import cylinders
from app.records.setup import shop as shop_records
from app.records.tables.cylinders import CylinderRow
from app.rules import inspection
from app.rules import limits as L
from app.rules.cylinders import VALVES
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.gas_room.board import cylinder_page
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
MATERIALS = (("steel", "Steel"), ("aluminium", "Aluminium"))
FIRST_DAY = date(1960, 1, 1)
SMALLEST_L, LARGEST_L = 1, 24
LOWEST_STAMP_BAR, HIGHEST_STAMP_BAR, HIGHEST_TEST_BAR = 100, 300, 500


@router.get("/gas/cylinders/new", name="add_cylinder_page")
def add_cylinder_page(front: Desk) -> Response:
    """Show an empty form for a cylinder."""
    return _add_page(front)


@router.post("/gas/cylinders", name="add_cylinder")
def add_cylinder(front: Desk, posted: PostedForm) -> Response:
    """Add a cylinder."""

    def add(act: Act) -> CylinderRow:
        fields = posted.fields()
        values = _stamped(front, fields)
        fields.done()
        return cylinder_stock.add_cylinder(act, values)

    return front.do(
        posted,
        add,
        then=lambda row: f"/gas/cylinders/{row.id}",
        again=lambda problem: _add_page(front, problem),
    )


@router.get("/gas/cylinders/{cylinder_id}/edit", name="edit_cylinder_page")
def edit_cylinder_page(front: Desk, cylinder_id: int) -> Response:
    """Show what is stamped on a cylinder, to be changed."""
    return _edit_page(front, cylinder_id)


@router.post("/gas/cylinders/{cylinder_id}/edit", name="edit_cylinder")
def edit_cylinder(front: Desk, posted: PostedForm, cylinder_id: int) -> Response:
    """Change what is stamped on a cylinder."""

    def change(act: Act) -> None:
        fields = posted.fields()
        values = _stamped(front, fields)
        fields.done()
        cylinder_stock.change_cylinder(act, cylinder_id, posted.edits, values)

    return front.do(
        posted,
        change,
        then=lambda _: f"/gas/cylinders/{cylinder_id}",
        again=lambda problem: _edit_page(front, cylinder_id, problem),
    )


@router.post("/gas/cylinders/{cylinder_id}/retire", name="retire_cylinder")
def retire_cylinder(front: Desk, posted: PostedForm, cylinder_id: int) -> Response:
    """Take a cylinder out of the shop for good, or back into it."""

    def retire(act: Act) -> None:
        fields = posted.fields()
        retired = fields.choice("retired", "whether it leaves the shop", ("yes", "no")) == "yes"
        fields.done()
        cylinder_stock.set_retired(act, cylinder_id, posted.edits, retired=retired)

    return front.do(
        posted,
        retire,
        then=lambda _: f"/gas/cylinders/{cylinder_id}",
        again=lambda problem: cylinder_page(front, cylinder_id, problem),
    )


def _stamped(front: Front, fields: Fields) -> dict[str, Any]:
    today = front.today
    return {
        "number": fields.text("number", "the number on the cylinder", most=20),
        "litres": fields.required_number("litres", "Size", SMALLEST_L, LARGEST_L, "L"),
        "working_pressure_bar": fields.required_number(
            "working_pressure_bar", "Working pressure", LOWEST_STAMP_BAR, HIGHEST_STAMP_BAR, "bar"
        ),
        "test_pressure_bar": _test_pressure(fields),
        "material": fields.choice("material", "the material", [key for key, _ in MATERIALS]),
        "valve": fields.choice("valve", "the valve", VALVES, needed=False),
        "inspection": fields.choice("inspection", "inspection rules", list(inspection.ALL), needed=False),
        "owner": fields.text("owner", "the owner", needed=False),
        "last_visual": fields.date3(
            "last_visual", "the day somebody last looked inside", FIRST_DAY, today, needed=False
        ),
        "last_pressure_test": fields.date3(
            "last_pressure_test", "the day of the last pressure test", FIRST_DAY, today, needed=False
        ),
        "visual_interval_months": fields.whole(
            "visual_interval_months", "Months between looks inside", 1, _outermost(L.CYLINDER_VISUAL_EVERY)
        ),
        "pressure_interval_months": fields.whole(
            "pressure_interval_months",
            "Months between pressure tests",
            1,
            _outermost(L.CYLINDER_PRESSURE_TEST_EVERY),
        ),
    }


def _test_pressure(fields: Fields) -> float | None:
    test = fields.number(
        "test_pressure_bar", "Test pressure", LOWEST_STAMP_BAR, HIGHEST_TEST_BAR, "bar", needed=False
    )
    working = fields.number(
        "working_pressure_bar", "Working pressure", LOWEST_STAMP_BAR, HIGHEST_STAMP_BAR, "bar"
    )
    if test is not None and working is not None and test <= working:
        fields.wrong(
            "test_pressure_bar", "The test pressure is above the working pressure. Read both off again."
        )
    return test


def _outermost(limit: L.Limit) -> int:
    return int(str(limit.outermost))


def _add_page(front: Front, problem: ProblemView | None = None) -> Response:
    return _form(front, "Add a cylinder", "add_cylinder", "/gas/cylinders", None, problem)


def _edit_page(front: Front, cylinder_id: int, problem: ProblemView | None = None) -> Response:
    row = cylinders.cylinder_view(front.session, cylinder_id, front.today).row
    to = f"/gas/cylinders/{cylinder_id}/edit"
    return _form(front, f"What is stamped on {row.number}", "edit_cylinder", to, row, problem)


def _form(
    front: Front, title: str, action: str, to: str, row: CylinderRow | None, problem: ProblemView | None
) -> Response:
    in_force = shop_records.limits_now(front.session)
    return front.page(
        "gas_room/stamped.html",
        title,
        problem=problem,
        action=action,
        to=to,
        row=row,
        back=f"/gas/cylinders/{row.id}" if row else "/gas",
        materials=MATERIALS,
        valves=[("", "Not written down"), *((one, one) for one in VALVES)],
        inspections=[("", "As the shop"), *((one.key, one.name) for one in inspection.ALL.values())],
        visual_every=in_force[L.CYLINDER_VISUAL_EVERY],
        pressure_test_every=in_force[L.CYLINDER_PRESSURE_TEST_EVERY],
    )
