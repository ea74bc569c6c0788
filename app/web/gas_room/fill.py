"""Gas room: writing down fills, one or a batch, and what is known of a batch afterwards."""

import re
from collections import Counter
from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.gas_room import batches, fills
from app.actions.gas_room.batches import Meter
from app.actions.gas_room.fills import Air, Fill
from app.planning.cylinder import settled_gauge
from app.records.gas_room import compressor, cylinders, fill_batches
from app.records.gas_room.cylinders import CylinderView
from app.records.setup import shop as shop_records
from app.rules import limits as L
from app.rules.compressor import may_run
from app.rules.cylinders import State, may_fill
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.gas_room.board import (
    HIGHEST_BAR,
    HIGHEST_GAS_C,
    LOWEST_GAS_C,
    STATES,
    coldest_water,
    cylinder_page,
    when,
)
from app.web.gas_room.board import may_fill as may_write_fills
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
HIGHEST_CO_PPM = 200
FIGURE = re.compile(r"-?\d{1,3}(\.\d{1,2})?")
HIGHEST_HOURS = 99_999
# Each cylinder of the batch form has three fields, and a form may have 200.
MOST_AT_ONCE = 60


@dataclass(frozen=True)
class Start:
    """How the batch form begins: ticked cylinders, and figures offered but not counted yet."""

    picked: tuple[str, ...] = ()
    end_bar: float | None = None
    gas_c: float | None = None


NOTHING = Start()


@router.get("/gas/fill", name="fill_page")
def fill_page(front: Desk) -> Response:
    """Show the cylinders that can be filled, emptiest first.

    ``?pick=3&pick=5&end=205&gas=40``: those ticked, figures offered; ``?same=last``: as the last batch.
    """
    return _fill_page(front, start=_start_asked(front))


@router.post("/gas/fill", name="fill_several")
def fill_several(front: Desk, posted: PostedForm) -> Response:
    """Write down a batch of fills and the compressor's hours around it."""

    def fill(act: Act) -> int:
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
        from_banks = fields.tick("from_banks")
        meter = Meter(
            fields.number("hours_before", "Hour meter before", 0, HIGHEST_HOURS, "h", needed=False),
            fields.number("hours_after", "Hour meter after", 0, HIGHEST_HOURS, "h", needed=False),
        )
        fields.done()
        return batches.write_batch(act, batch, air, meter, from_banks=from_banks)[0].id or 0

    chosen = [value for name, value in posted.pairs if name == "pick"]
    return front.do(
        posted,
        fill,
        then=lambda first: f"/gas/fills/{first}",
        again=lambda problem: _fill_page(front, problem, Start(tuple(chosen))),
    )


@router.get("/gas/fills/{fill_id}", name="fill_batch")
def fill_batch(front: Desk, fill_id: int) -> Response:
    """Show a batch after it was written down: what the water makes of it, and who has its cylinders."""
    return _batch_page(front, fill_id)


@router.post("/gas/fills/{fill_id}/air", name="measure_batch")
def measure_batch(front: Desk, posted: PostedForm, fill_id: int) -> Response:
    """Write down air measured after a batch."""

    def measure(act: Act) -> None:
        fields = posted.fields()
        co = fields.number("co_ppm", "Carbon monoxide", 0, HIGHEST_CO_PPM, "ppm", needed=False)
        oxygen = fields.number("oxygen_percent", "Oxygen", 0, 100, "%", needed=False)
        fields.done()
        batches.measure_batch(act, fill_id, co, oxygen)

    return front.do(
        posted,
        measure,
        then=lambda _: f"/gas/fills/{fill_id}",
        again=lambda problem: _batch_page(front, fill_id, problem),
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


def _start_asked(front: Front) -> Start:
    """Return how the form begins: as the address says, where that makes sense; nonsense is left out."""
    asked = front.request.query_params
    if asked.get("same") == "last":
        last = fill_batches.newest_batch(front.session)
        if last is not None:
            ends = Counter(row.end_bar for row, _ in last.fills)
            return Start(
                tuple(str(key) for key in last.cylinder_ids), ends.most_common(1)[0][0], last.first.temp_c
            )
    return Start(
        tuple(asked.getlist("pick")),
        _figure(asked.get("end", ""), 1, HIGHEST_BAR),
        _figure(asked.get("gas", ""), LOWEST_GAS_C, HIGHEST_GAS_C),
    )


def _figure(said: str, low: float, high: float) -> float | None:
    number = float(said) if FIGURE.fullmatch(said) else None
    return number if number is not None and low <= number <= high else None


def _fill_page(front: Front, problem: ProblemView | None = None, start: Start = NOTHING) -> Response:
    in_force = shop_records.limits_now(front.session)
    fillable = _fillable(front)
    offered = {str(view.row.id) for view in fillable}
    facts = compressor.compressor_facts(front.session)
    return front.page(
        "gas_room/fill.html",
        "Write down fills",
        problem=problem,
        board=[view for view in fillable if view.state is not State.FULL],
        full=[view for view in fillable if view.state is State.FULL],
        start=start,
        chosen=[key for key in start.picked if key in offered],
        not_offered=sum(key not in offered for key in start.picked),
        words=STATES,
        co_max=in_force[L.AIR_CO_MAX],
        machine=may_run(facts, in_force),
        hours=facts.hours,
        banks=compressor.stored(front.session),
        last=fill_batches.newest_batch(front.session),
        when=when(front),
    )


def _batch_page(front: Front, fill_id: int, problem: ProblemView | None = None) -> Response:
    batch = fill_batches.batch_of(front.session, fill_id)
    aside = cylinders.open_quarantines(front.session, batch.cylinder_ids)
    coldest = coldest_water(front)
    first = batch.first
    return front.page(
        "gas_room/batch.html",
        "1 cylinder filled" if len(batch.fills) == 1 else f"{len(batch.fills)} cylinders filled",
        problem=problem,
        batch=batch,
        aside=aside,
        had=fill_batches.had_since(front.session, batch),
        coldest=coldest,
        settled={
            row.id: settled_gauge(row.end_bar, row.temp_c, coldest.usual_temp_c)
            for row, _ in (batch.fills if coldest is not None else ())
            if coldest is not None
        },
        enough=shop_records.limits_now(front.session)[L.START_PRESSURE_MIN],
        co_max=shop_records.limits_now(front.session)[L.AIR_CO_MAX],
        measured=first.co_ppm is not None or bool(batch.measured),
        may_measure=may_write_fills(front),
        when=when(front),
    )
