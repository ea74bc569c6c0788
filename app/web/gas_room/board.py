"""Gas room: the board of all cylinders, and one cylinder with its readings, setting aside and back."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.gas_room import cylinders as act_on
from app.planning.cylinder import settled_gauge
from app.records.gas_room import compressor, cylinder_history, cylinders, fill_batches, fill_plan, gauges
from app.records.gas_room.cylinders import CylinderView
from app.records.gas_room.fill_plan import SlotPlan
from app.records.gas_room.gauge_doubts import expected_in_room, open_doubts
from app.records.gas_room.gauges import Gauge
from app.records.gas_room.inspection import shops_inspection
from app.records.keep.pictures import pictures_of
from app.records.setup import shop as shop_records
from app.records.store.problems import NotHere
from app.records.tables.house import SiteRow
from app.rules import inspection
from app.rules import limits as L
from app.rules.compressor import may_run
from app.rules.cylinders import AirFacts, State, usable
from app.rules.decision import Reason
from app.rules.fill_plan import say_short
from app.rules.fills import judge_air
from app.rules.gas import Level, judge_pressure
from app.web.access import INSTRUCTOR, LEAD, MANAGER
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
# State -> word and shape. Only what a person must look at is a triangle.
STATES = {
    State.FULL: ("full", "dot"),
    State.PART: ("part", "ring"),
    State.EMPTY: ("empty", "ring"),
    State.NOT_READ: ("not read", "ring"),
    State.IN_USE: ("in use", "square"),
    State.AT_STATION: ("at the station", "square"),
    State.OUT_OF_TEST: ("out of test", "triangle"),
    State.QUARANTINED: ("quarantined", "triangle"),
}
HIGHEST_BAR = 300
LOWEST_GAS_C, HIGHEST_GAS_C = -5, 65


@dataclass(frozen=True)
class Settled:
    """What the gauge will show at a site once the gas has the water's temperature."""

    place: str
    temp_c: float
    bar: float


@router.get("/gas", name="gas_room")
def gas_room(front: Desk) -> Response:
    """Show every cylinder, or those in one state, and what the slots ahead ask for."""
    asked = front.request.query_params.get("state", "")
    codes = {code_of(state): state for state in STATES}
    if asked and asked not in codes:
        raise NotHere("no such state")
    board = cylinders.cylinder_board(front.session, front.today)
    counts = Counter(view.state for view in board)
    plan = fill_plan.next_plan(front.session, front.today, front.now)
    machine = may_run(compressor.compressor_facts(front.session), shop_records.limits_now(front.session))
    return front.page(
        "gas_room/gas_room.html",
        "Gas room",
        board=[view for view in board if not asked or view.state == codes[asked]],
        total=len(board),
        full=counts[State.FULL],
        not_used=[view for view in board if view.state in (State.QUARANTINED, State.OUT_OF_TEST)],
        still_out=fill_batches.aside_but_out(front.session),
        plan=plan,
        lacking=sum(one.need.count for one in plan.slots),
        say_slot=lambda one: say_slot(front, one),
        machine=machine,
        air_test=air_test_due(front),
        as_table=bool(asked) or front.request.query_params.get("as") == "table",
        chosen=asked,
        filters=[
            ("", "All", len(board)),
            *((code, STATES[state][0].capitalize(), counts[state]) for code, state in codes.items()),
        ],
        words=STATES,
        cooling=_cooling(front, board),
        retired=cylinders.retired(front.session),
        may_fill=may_fill(front),
        may_add=front.visitor.has(INSTRUCTOR, MANAGER),
        may_share=front.visitor.has(MANAGER),
        tests_soon=sum(view.test_soon or view.state is State.OUT_OF_TEST for view in board),
        when=when(front),
    )


@router.get("/gas/cylinders/{cylinder_id}", name="cylinder")
def cylinder(front: Desk, cylinder_id: int) -> Response:
    """Show one cylinder."""
    return cylinder_page(front, cylinder_id)


@router.post("/gas/cylinders/{cylinder_id}/reading", name="read_cylinder")
def read_cylinder(front: Desk, posted: PostedForm, cylinder_id: int) -> Response:
    """Write down a pressure read off the gauge."""

    def read(act: Act) -> None:
        fields = posted.fields()
        bar = fields.required_reading("bar", "Pressure", 0, HIGHEST_BAR, "bar")
        temp_c = fields.number("temp_c", "Gas temperature", LOWEST_GAS_C, HIGHEST_GAS_C, "°C", needed=False)
        fields.done()
        act_on.add_reading(act, cylinder_id, bar, temp_c=temp_c)

    return _one(front, posted, cylinder_id, read)


@router.post("/gas/cylinders/{cylinder_id}/drain", name="drain_cylinder")
def drain_cylinder(front: Desk, posted: PostedForm, cylinder_id: int) -> Response:
    """Write down that a cylinder was drained."""

    def drain(act: Act) -> None:
        posted.fields().done()
        act_on.drain(act, cylinder_id)

    return _one(front, posted, cylinder_id, drain)


@router.post("/gas/cylinders/{cylinder_id}/aside", name="set_cylinder_aside")
def set_cylinder_aside(front: Desk, posted: PostedForm, cylinder_id: int) -> Response:
    """Quarantine a cylinder."""

    def aside(act: Act) -> None:
        fields = posted.fields()
        why = fields.note("why", "why it is set aside", needed=True)
        fields.done()
        act_on.quarantine(act, cylinder_id, why)

    return _one(front, posted, cylinder_id, aside)


@router.post("/gas/cylinders/{cylinder_id}/back-in-use/{quarantine_id}", name="back_in_use")
def back_in_use(front: Desk, posted: PostedForm, cylinder_id: int, quarantine_id: int) -> Response:
    """Take a quarantined cylinder back into use."""

    def lift(act: Act) -> None:
        fields = posted.fields()
        why = fields.note("why", "what was found and done", needed=True)
        fields.done()
        act_on.lift_quarantine(act, cylinder_id, quarantine_id, posted.edits, why)

    return _one(front, posted, cylinder_id, lift)


def cylinder_page(front: Front, cylinder_id: int, problem: ProblemView | None = None) -> Response:
    """Render one cylinder, with what went wrong with one of its forms."""
    one = cylinders.cylinder_view(front.session, cylinder_id, front.today)
    in_force = shop_records.limits_now(front.session)
    judged = usable(one.facts, in_force, front.today, "open")
    followed = inspection.inspection_of(one.row.inspection, shops_inspection(front.session))
    return front.page(
        "gas_room/cylinder.html",
        f"Cylinder {one.row.number}",
        problem=problem,
        one=one,
        words=STATES,
        judged=judged,
        unusual=_unusual(front, one),
        settled=_settled(shop_records.sites(front.session), one.gauge),
        expected=expected_in_room(front.session, cylinder_id, None),
        doubts=[asked for asked in open_doubts(front.session) if asked.row.cylinder_id == cylinder_id],
        cooling=_cooling(front, [one]).get(cylinder_id),
        enough=in_force[L.START_PRESSURE_MIN],
        co_max=in_force[L.AIR_CO_MAX],
        entries=cylinder_history.history(front.session, cylinder_id),
        pictures=pictures_of(front.session, "cylinder", [cylinder_id]).get(cylinder_id, []),
        may_fill=may_fill(front) and not one.row.retired,
        may_lift=front.visitor.has(INSTRUCTOR, MANAGER),
        may_edit=front.visitor.has(MANAGER),
        followed=followed,
        visual=inspection.visual_interval(followed, one.row.visual_interval_months, in_force),
        pressure_test=inspection.pressure_interval(followed, one.row.pressure_interval_months, in_force),
        when=when(front),
    )


def code_of(state: State) -> str:
    """Return how a state stands in an address."""
    return state.value.replace(" ", "-")


def may_fill(front: Front) -> bool:
    """Return whether the visitor writes fills and readings."""
    return front.visitor.has(INSTRUCTOR, LEAD, MANAGER)


def when(front: Front) -> Callable[[datetime], str]:
    """Return how this page says an instant: the clock for today, with the day before it otherwise."""

    def say(instant: datetime) -> str:
        day = front.shop.day_of(instant)
        clock = front.clock(instant)
        return clock if day == front.today else f"{day:%a} {day.day} {day:%b} {clock}"

    return say


def say_slot(front: Front, one: SlotPlan) -> str:
    """Return the sentence for a slot that gets too few cylinders or gets them late; "" when it is held."""
    slot = one.need.slot
    ready = None if one.ready_at is None else front.clock(one.ready_at)
    return say_short(slot.label, slot.slot.clock, one.answer.missing, one.answer.late or 0, ready)


def coldest_water(front: Front) -> SiteRow | None:
    """Return the shop's coldest open water; None while it has none."""
    sites = [site for site in shop_records.sites(front.session) if not site.confined]
    return min(sites, key=lambda site: site.usual_temp_c, default=None)


def air_test_due(front: Front) -> Reason | None:
    """Return what stands against the compressor's air test; None while it is in date."""
    tested = cylinder_history.air_tested_on(front.session)
    notes = judge_air(AirFacts(None, None, tested), shop_records.limits_now(front.session), front.today).notes
    return next((note for note in notes if note.rule == L.COMPRESSOR_AIR_TEST_EVERY.key), None)


def _one(front: Front, posted: PostedForm, cylinder_id: int, action: Callable[[Act], None]) -> Response:
    return front.do(
        posted,
        action,
        then=lambda _: f"/gas/cylinders/{cylinder_id}",
        again=lambda problem: cylinder_page(front, cylinder_id, problem),
    )


def _unusual(front: Front, one: CylinderView) -> str:
    """What is odd about the newest figure, judged against the one before it."""
    newest = gauges.newest_two(front.session, one.row.id or 0)
    if not newest or one.gauge is None or newest[0].at != one.gauge.at:
        return ""
    before = newest[1].bar if len(newest) > 1 else None
    judgement = judge_pressure(
        newest[0].bar,
        cylinders.reading_kind(newest[0].why),
        before,
        one.row.working_pressure_bar,
        shop_records.limits_now(front.session),
    )
    return judgement.sentence if judgement.level is Level.UNUSUAL else ""


def _settled(sites: list[SiteRow], gauge: Gauge | None) -> list[Settled]:
    if gauge is None or gauge.temp_c is None:
        return []
    return [
        Settled(site.name, site.usual_temp_c, settled_gauge(gauge.bar, gauge.temp_c, site.usual_temp_c))
        for site in sites
    ]


def _cooling(front: Front, board: list[CylinderView]) -> dict[int, Settled]:
    """Full cylinders that will not be full in the coldest open water of the shop: filled warm."""
    enough = shop_records.limits_now(front.session)[L.START_PRESSURE_MIN].number or 0
    coldest = coldest_water(front)
    found: dict[int, Settled] = {}
    for view in board:
        for place in _settled([coldest] if coldest else [], view.gauge) if view.state is State.FULL else ():
            if place.bar < enough:
                found[view.row.id or 0] = place
    return found
