"""Gas room: writing down fills, one or a batch, the compressor's hour meter and the test of its air."""

from collections.abc import Sequence
from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions import fills
from app.actions.act import Act
from app.actions.fills import Air, Fill
from app.records import cylinder_history, cylinders
from app.records import shop as shop_records
from app.records.cylinders import CylinderView
from app.rules import limits as L
from app.rules.cylinders import State, may_fill
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.gas_room import (
    HIGHEST_BAR,
    HIGHEST_GAS_C,
    LOWEST_GAS_C,
    STATES,
    air_test_due,
    code_of,
    cylinder_page,
    when,
)
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
HIGHEST_CO_PPM = 200
HIGHEST_HOURS = 99_999
# Each cylinder of the batch form has three fields, and a form may have 200.
MOST_AT_ONCE = 60


@router.get("/gas/fill", name="fill_page")
def fill_page(front: Desk) -> Response:
    """Show the cylinders that can be filled, emptiest first."""
    return _fill_page(front)


@router.post("/gas/fill", name="fill_several")
def fill_several(front: Desk, posted: PostedForm) -> Response:
    """Write down a batch of fills and the compressor's hours around it."""

    def fill(act: Act) -> str:
        fields = posted.fields()
        offered = [str(view.row.id) for view in _fillable(front)]
        picked = fields.several("pick", "cylinders", offered)
        if not picked:
            fields.errors.setdefault("pick", "Tap at least one cylinder.")
        common = fields.number("end_bar", "End pressure", 1, HIGHEST_BAR, "bar", needed=False)
        batch: dict[int, Fill] = {}
        for key in offered:
            start = fields.number(f"start_{key}", "Start pressure", 0, HIGHEST_BAR, "bar", needed=False)
            own = fields.number(f"end_{key}", "End pressure", 1, HIGHEST_BAR, "bar", needed=False)
            end = common if own is None else own
            if key in picked and end is None:
                fields.errors.setdefault("end_bar", "Enter the end pressure in bar.")
            if key in picked:
                batch[int(key)] = Fill(start, end or 0.0)
        air = _air(fields)
        before = fields.number("hours_before", "Hour meter before", 0, HIGHEST_HOURS, "h", needed=False)
        after = fields.number("hours_after", "Hour meter after", 0, HIGHEST_HOURS, "h", needed=False)
        fields.done()
        if before is not None:
            fills.read_compressor(act, before, "hours_before")
        fills.fill_several(act, batch, air)
        if after is not None:
            fills.read_compressor(act, after, "hours_after")
        aside = cylinders.open_quarantines(act.session, batch)
        return f"/gas?state={code_of(State.QUARANTINED)}" if aside else "/gas"

    chosen = [value for name, value in posted.pairs if name == "pick"]
    return front.do(
        posted, fill, then=lambda path: path, again=lambda problem: _fill_page(front, problem, chosen)
    )


@router.post("/gas/cylinders/{cylinder_id}/fill", name="fill_cylinder")
def fill_cylinder(front: Desk, posted: PostedForm, cylinder_id: int) -> Response:
    """Write down the fill of one cylinder."""

    def fill(act: Act) -> None:
        fields = posted.fields()
        start = fields.required_number(f"start_{cylinder_id}", "Start pressure", 0, HIGHEST_BAR, "bar")
        end = fields.required_number(f"end_{cylinder_id}", "End pressure", 1, HIGHEST_BAR, "bar")
        air = _air(fields)
        fields.done()
        fills.add_fill(act, cylinder_id, Fill(start, end), air)

    return front.do(
        posted,
        fill,
        then=lambda _: f"/gas/cylinders/{cylinder_id}",
        again=lambda problem: cylinder_page(front, cylinder_id, problem),
    )


@router.post("/gas/compressor", name="read_compressor")
def read_compressor(front: Desk, posted: PostedForm) -> Response:
    """Write down the compressor's hour meter."""

    def read(act: Act) -> None:
        fields = posted.fields()
        hours = fields.required_number("hours", "Hour meter", 0, HIGHEST_HOURS, "h")
        fields.done()
        fills.read_compressor(act, hours)

    return front.do(
        posted, read, then=lambda _: "/gas/fill#compressor", again=lambda problem: _fill_page(front, problem)
    )


@router.post("/gas/air-test", name="add_air_test")
def add_air_test(front: Desk, posted: PostedForm) -> Response:
    """Write down a passed test of the compressor's air."""

    def add(act: Act) -> None:
        fields = posted.fields()
        tested_on = fields.date3("tested_on", "the day of the test", date(2000, 1, 1), front.today)
        report = fields.text("report", "who tested it or the report's number")
        fields.done()
        fills.add_air_test(act, tested_on or front.today, report)

    return front.do(
        posted, add, then=lambda _: "/gas/fill#air-test", again=lambda problem: _fill_page(front, problem)
    )


def _air(fields: Fields) -> Air:
    return Air(
        fields.required_number("temp_c", "Gas temperature", LOWEST_GAS_C, HIGHEST_GAS_C, "°C"),
        fields.number("oxygen_percent", "Oxygen", 0, 100, "%", needed=False),
        fields.number("co_ppm", "Carbon monoxide", 0, HIGHEST_CO_PPM, "ppm", needed=False),
    )


def _fillable(front: Front) -> list[CylinderView]:
    in_force = shop_records.limits_now(front.session)
    found = [
        view
        for view in cylinders.cylinder_board(front.session, front.today)
        if may_fill(view.facts, in_force, front.today, view.row.working_pressure_bar).allowed
        and (view.gauge is None or view.gauge.bar < view.row.working_pressure_bar)
    ]
    return sorted(found, key=lambda view: -1.0 if view.gauge is None else view.gauge.bar)[:MOST_AT_ONCE]


def _fill_page(front: Front, problem: ProblemView | None = None, chosen: Sequence[str] = ()) -> Response:
    in_force = shop_records.limits_now(front.session)
    fillable = _fillable(front)
    return front.page(
        "gas_room/fill.html",
        "Write down fills",
        problem=problem,
        board=[view for view in fillable if view.state is not State.FULL],
        full=[view for view in fillable if view.state is State.FULL],
        chosen=chosen,
        words=STATES,
        co_max=in_force[L.AIR_CO_MAX],
        compressor=cylinder_history.compressor_readings(front.session),
        air_test=air_test_due(front),
        air_test_every=in_force[L.COMPRESSOR_AIR_TEST_EVERY],
        air_tested_on=cylinder_history.air_tested_on(front.session),
        when=when(front),
    )
