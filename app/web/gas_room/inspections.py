"""Gas room: which cylinders are due for inspection, sending them to a test station and taking them back."""

from dataclasses import dataclass
from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.gas_room import inspection as act_on
from app.actions.gas_room.inspection import CONDEMNED, NOT_TESTED, PASSED, Back
from app.records.gas_room import cylinders, inspection
from app.records.gas_room.cylinders import CylinderView
from app.records.setup import shop as shop_records
from app.records.store.problems import NotHere
from app.rules import inspection as rules
from app.rules import limits as L
from app.rules.cylinders import may_send, tests_due
from app.web.access import INSTRUCTOR, LEAD, MANAGER
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.gas_room.board import STATES, cylinder_page
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
FIRST_DAY = date(1960, 1, 1)
# What came of one cylinder's way to the station: answer, words, and what it means.
OUTCOMES = {
    "both": ("Passed both", Back(0, PASSED, visual=True, pressure=True)),
    "visual": ("Passed the look inside", Back(0, PASSED, visual=True)),
    "pressure": ("Passed the pressure test", Back(0, PASSED, pressure=True)),
    "none": ("Back without a test", Back(0, NOT_TESTED)),
    "condemned": ("Condemned: it leaves the shop", Back(0, CONDEMNED)),
}


@dataclass(frozen=True)
class Due:
    """One cylinder with what is due on it. late: over or not on file; soon: within the shop's notice."""

    view: CylinderView
    tests: tuple[str, ...]
    on: date | None
    late: bool
    soon: bool
    here: bool


@router.get("/gas/tests", name="cylinder_tests")
def cylinder_tests(front: Desk) -> Response:
    """Show every cylinder by when its next inspection is due, and those at the test station."""
    return _tests_page(front)


@router.post("/gas/tests/sent", name="send_to_station")
def send_to_station(front: Desk, posted: PostedForm) -> Response:
    """Write down that the ticked cylinders went to a test station."""

    def send(act: Act) -> None:
        fields = posted.fields()
        station = fields.text("station", "where they go")
        ids = [str(view.row.id) for view in cylinders.cylinder_board(act.session, front.today)]
        picked = fields.several("pick", "the cylinders", ids)
        if not picked and "pick" not in fields.errors:
            fields.wrong("pick", "Tick the cylinders that go.")
        fields.done()
        act_on.send_to_station(act, [int(one) for one in picked], station)

    return front.do(
        posted, send, then=lambda _: "/gas/tests/list", again=lambda problem: _tests_page(front, problem)
    )


@router.get("/gas/tests/list", name="station_list")
def station_list(front: Desk) -> Response:
    """Show the list that goes with the cylinders, for printing."""
    away = _away(front)
    stations: dict[str, list[tuple[CylinderView, tuple[str, ...]]]] = {}
    for view in away:
        if view.trip is not None:
            stations.setdefault(view.trip.station, []).append((view, _asked_for(front, view)))
    return front.page("gas_room/station_list.html", "At the test station", stations=stations)


@router.post("/gas/tests/back", name="back_from_station")
def back_from_station(front: Desk, posted: PostedForm) -> Response:
    """Write down how cylinders came back, with their new dates."""

    def back(act: Act) -> None:
        fields = posted.fields()
        backs = _backs(front, fields)
        visual_on = _test_day(front, fields, "visual_on", "the day of the look inside")
        pressure_on = _test_day(front, fields, "pressure_on", "the day of the pressure test")
        report = fields.text("report", "the report", needed=False)
        if not fields.errors and any(one.visual for one in backs) and visual_on is None:
            fields.wrong("visual_on", "Enter the day of the look inside: some passed it.")
        if not fields.errors and any(one.pressure for one in backs) and pressure_on is None:
            fields.wrong("pressure_on", "Enter the day of the pressure test: some passed it.")
        fields.done()
        act_on.back_from_station(act, backs, visual_on, pressure_on, report)

    return front.do(
        posted, back, then=lambda _: "/gas/tests", again=lambda problem: _tests_page(front, problem)
    )


@router.post("/gas/cylinders/{cylinder_id}/test", name="write_test")
def write_test(front: Desk, posted: PostedForm, cylinder_id: int) -> Response:
    """Write down an inspection that one cylinder passed."""

    def write(act: Act) -> None:
        fields = posted.fields()
        visual_on = _test_day(front, fields, "visual_on", "the day of the look inside")
        pressure_on = _test_day(front, fields, "pressure_on", "the day of the pressure test")
        report = fields.text("report", "who inspected it")
        fields.done()
        act_on.write_test(act, cylinder_id, visual_on, pressure_on, report)

    return front.do(
        posted,
        write,
        then=lambda _: f"/gas/cylinders/{cylinder_id}",
        again=lambda problem: cylinder_page(front, cylinder_id, problem),
    )


@router.get("/gas/tests/rules", name="inspection_rules")
def inspection_rules(front: Desk) -> Response:
    """Show the inspection intervals by country, with their sources and what is not sure."""
    return _rules_page(front)


@router.post("/gas/tests/rules", name="choose_inspection")
def choose_inspection(front: Desk, posted: PostedForm) -> Response:
    """Choose which country's intervals the shop follows."""

    def choose(act: Act) -> None:
        fields = posted.fields()
        key = fields.choice("inspection", "the rules that the shop follows", list(rules.ALL))
        fields.done()
        act_on.choose_inspection(act, posted.edits, key)

    return front.do(
        posted, choose, then=lambda _: "/gas/tests/rules", again=lambda problem: _rules_page(front, problem)
    )


def _backs(front: Front, fields: Fields) -> list[Back]:
    """Read one answer for each cylinder that is away; an empty one stays away."""
    named = [name for name in fields.values if name.startswith("trip_")]
    backs = []
    for name in named:
        number = name.removeprefix("trip_")
        said = fields.choice(name, "what came of it", list(OUTCOMES), needed=False)
        if said and number.isdecimal() and len(number) <= 9:  # noqa: PLR2004 - digits of a row's number
            kind = OUTCOMES[said][1]
            backs.append(Back(int(number), kind.outcome, kind.visual, kind.pressure))
    if not backs:
        first = next((f"trip_{view.trip.id}" for view in _away(front) if view.trip), "form")
        fields.wrong(first, "Say of at least one cylinder how it came back.")
    return backs


def _test_day(front: Front, fields: Fields, name: str, what: str) -> date | None:
    return fields.date3(name, what, FIRST_DAY, front.today, needed=False)


def _tests_page(front: Front, problem: ProblemView | None = None) -> Response:
    board = cylinders.cylinder_board(front.session, front.today)
    dues = sorted((_due(front, view) for view in board if view.trip is None), key=_order)
    chosen = problem.lists.get("pick", ()) if problem and problem.action == "send_to_station" else None
    return front.page(
        "gas_room/tests.html",
        "Cylinder inspections",
        problem=problem,
        groups=[
            ("Over or not on file", [one for one in dues if one.late], True),
            ("Due soon", [one for one in dues if one.soon], True),
            ("Later", [one for one in dues if not one.late and not one.soon], False),
        ],
        total=len(board),
        due_now=sum(one.late for one in dues),
        due_soon=sum(one.soon for one in dues),
        chosen=chosen,
        away=_away(front),
        outcomes=[("", "Still away"), *((key, words) for key, (words, _) in OUTCOMES.items())],
        notice=shop_records.limits_now(front.session)[L.CYLINDER_TEST_NOTICE],
        station=inspection.last_station(front.session),
        followed=rules.inspection_of("", inspection.shops_inspection(front.session)),
        words=STATES,
        may_send=front.visitor.has(INSTRUCTOR, LEAD, MANAGER),
        may_write=front.visitor.has(MANAGER),
    )


def _rules_page(front: Front, problem: ProblemView | None = None) -> Response:
    row = shop_records.shop_row(front.session)
    if row is None:
        raise NotHere("no shop yet")
    in_force = shop_records.limits_now(front.session)
    return front.page(
        "gas_room/inspection_rules.html",
        "Inspection rules",
        problem=problem,
        table_of=list(rules.ALL.values()),
        row=row,
        visual=in_force[L.CYLINDER_VISUAL_EVERY],
        pressure=in_force[L.CYLINDER_PRESSURE_TEST_EVERY],
    )


def _due(front: Front, view: CylinderView) -> Due:
    limits, day = shop_records.limits_now(front.session), front.today
    notice = limits[L.CYLINDER_TEST_NOTICE].number or 0
    dues = tests_due(view.facts, limits)
    late = [test for test in dues if test.on is None or test.on < day]
    soon = [test for test in dues if test.on is not None and 0 <= (test.on - day).days <= notice]
    known = [test.on for test in dues if test.on is not None]
    tests = tuple(test.name for test in (*late, *soon))
    on = min(known) if len(known) == len(dues) else None
    return Due(view, tests, on, bool(late), bool(soon) and not late, may_send(view.facts).allowed)


def _asked_for(front: Front, view: CylinderView) -> tuple[str, ...]:
    """Return what a cylinder at the station is there for: what is due, else a look and a test."""
    return _due(front, view).tests or ("inspection",)


def _order(due: Due) -> tuple[bool, date]:
    return (due.on is not None, due.on or FIRST_DAY)


def _away(front: Front) -> list[CylinderView]:
    return [view for view in cylinders.cylinder_board(front.session, front.today) if view.trip is not None]
