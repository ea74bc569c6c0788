"""Gas room: the compressor's hours, filter, oil and delivery, the certificate of its air, and the banks."""

from collections.abc import Callable
from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.gas_room import compressor as act_on
from app.actions.gas_room import fills
from app.records.gas_room import compressor, cylinder_history
from app.records.setup import shop as shop_records
from app.rules import limits as L
from app.rules.compressor import Certificate, certificate_good, may_run, wear_of
from app.web.access import MANAGER
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.gas_room.board import HIGHEST_BAR, HIGHEST_GAS_C, LOWEST_GAS_C, air_test_due, may_fill, when
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
HIGHEST_HOURS = 99_999
LOWEST_OUTPUT, HIGHEST_OUTPUT = 10, 3000
LARGEST_CYLINDER_L, LARGEST_BANK_L = 24, 2000
HIGHEST_BANK_BAR = 350
LONGEST_FILL_MIN = 240
KINDS = {compressor.FILTER: "New filter cartridge", compressor.OIL: "Oil service"}
PASSED, FAILED = "passed", "failed"


@router.get("/gas/compressor", name="compressor")
def compressor_page(front: Desk) -> Response:
    """Show what is left of filter and oil, what the compressor delivers, its air and the banks."""
    return _page(front)


@router.post("/gas/compressor", name="read_compressor")
def read_compressor(front: Desk, posted: PostedForm) -> Response:
    """Write down the compressor's hour meter."""

    def read(act: Act) -> None:
        fields = posted.fields()
        hours = fields.required_number("hours", "Hour meter", 0, HIGHEST_HOURS, "h")
        fields.done()
        fills.read_compressor(act, hours)

    return _do(front, posted, read, "hours")


@router.post("/gas/compressor/service", name="write_service")
def write_service(front: Desk, posted: PostedForm) -> Response:
    """Write down a new filter cartridge or an oil service."""

    def write(act: Act) -> None:
        fields = posted.fields()
        kind = fields.choice("kind", "what was done", KINDS)
        hours = fields.required_number("hours", "Hour meter", 0, HIGHEST_HOURS, "h")
        note = fields.note("note", "a note")
        fields.done()
        act_on.write_service(act, kind, hours, note)

    return _do(front, posted, write, "hours")


@router.post("/gas/compressor/output", name="write_output")
def write_output(front: Desk, posted: PostedForm) -> Response:
    """Write down the maker's free air delivery."""

    def write(act: Act) -> None:
        fields = posted.fields()
        output = fields.required_number(
            "free_air_l_min", "Free air delivery", LOWEST_OUTPUT, HIGHEST_OUTPUT, "L/min"
        )
        fields.done()
        act_on.write_output(act, output)

    return _do(front, posted, write, "output")


@router.post("/gas/compressor/measured", name="measure_output")
def measure_output(front: Desk, posted: PostedForm) -> Response:
    """Work the delivery out from a fill with a watch beside it."""

    def measure(act: Act) -> None:
        fields = posted.fields()
        fill = act_on.MeasuredFill(
            litres=fields.required_number("litres", "Size", 1, LARGEST_CYLINDER_L, "L"),
            from_bar=fields.required_number("from_bar", "Start pressure", 0, HIGHEST_BAR, "bar"),
            to_bar=fields.required_number("to_bar", "End pressure", 1, HIGHEST_BAR, "bar"),
            minutes=fields.required_number("minutes", "Minutes", 1, LONGEST_FILL_MIN, "min"),
            from_temp_c=fields.required_number(
                "from_temp_c", "Room temperature", LOWEST_GAS_C, HIGHEST_GAS_C, "°C"
            ),
            temp_c=fields.required_number("temp_c", "Gas temperature", LOWEST_GAS_C, HIGHEST_GAS_C, "°C"),
        )
        fields.done()
        act_on.measure_output(act, fill)

    return _do(front, posted, measure, "output")


@router.post("/gas/air-test", name="add_air_test")
def add_air_test(front: Desk, posted: PostedForm) -> Response:
    """Write down a test of the compressor's air, with the figures of its certificate."""

    def add(act: Act) -> None:
        fields = posted.fields()
        tested_on = fields.date3("tested_on", "the day of the test", date(2000, 1, 1), front.today)
        report = fields.text("report", "who tested it")
        certificate = fields.text("certificate", "the certificate's number", needed=False)
        result = fields.choice("result", "what the certificate says", (PASSED, FAILED))
        figures = _figures(fields)
        fields.done()
        test = Certificate(tested_on or front.today, result == PASSED, **figures)
        fills.add_air_test(act, test, report, certificate)

    return _do(front, posted, add, "air-test")


@router.post("/gas/banks", name="add_bank")
def add_bank(front: Desk, posted: PostedForm) -> Response:
    """Add a storage bank."""

    def add(act: Act) -> None:
        fields = posted.fields()
        name, litres, rated = _bank(fields)
        fields.done()
        act_on.add_bank(act, name, litres, rated)

    return _do(front, posted, add, "banks")


@router.post("/gas/banks/{bank_id}", name="change_bank")
def change_bank(front: Desk, posted: PostedForm, bank_id: int) -> Response:
    """Change a bank, or take it out of use."""

    def change(act: Act) -> None:
        fields = posted.fields()
        name, litres, rated = _bank(fields)
        in_use = fields.choice("in_use", "whether it is in use", ("yes", "no")) == "yes"
        fields.done()
        act_on.change_bank(act, bank_id, posted.edits, name, litres, rated, in_use)

    return _do(front, posted, change, "banks")


@router.post("/gas/banks/{bank_id}/reading", name="read_bank")
def read_bank(front: Desk, posted: PostedForm, bank_id: int) -> Response:
    """Write down what a bank's gauge shows."""

    def read(act: Act) -> None:
        fields = posted.fields()
        bar = fields.required_number("bar", "Pressure", 0, HIGHEST_BANK_BAR, "bar")
        fields.done()
        act_on.read_bank(act, bank_id, bar)

    return _do(front, posted, read, "banks")


def _do(front: Front, posted: PostedForm, action: Callable[[Act], None], at: str) -> Response:
    return front.do(
        posted,
        action,
        then=lambda _: f"/gas/compressor#{at}",
        again=lambda problem: _page(front, problem),
    )


def _figures(fields: Fields) -> dict[str, float | None]:
    wanted = (
        ("oxygen_percent", "Oxygen", 100, "%"),
        ("co_ppm", "Carbon monoxide", 1000, "ppm"),
        ("co2_ppm", "Carbon dioxide", 10_000, "ppm"),
        ("oil_mg_m3", "Oil", 100, "mg/m³"),
        ("water_mg_m3", "Water", 1000, "mg/m³"),
    )
    return {
        name: fields.number(name, label, 0, most, unit, needed=False) for name, label, most, unit in wanted
    }


def _bank(fields: Fields) -> tuple[str, float, float]:
    return (
        fields.text("name", "the bank's name", most=40),
        fields.required_number("litres", "Size", 1, LARGEST_BANK_L, "L"),
        fields.required_number("rated_bar", "Rated pressure", 100, HIGHEST_BANK_BAR, "bar"),
    )


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    in_force = shop_records.limits_now(front.session)
    facts = compressor.compressor_facts(front.session)
    tests = compressor.air_tests(front.session)
    return front.page(
        "gas_room/compressor.html",
        "Compressor and banks",
        problem=problem,
        facts=facts,
        wear=wear_of(facts, in_force),
        in_force={key: in_force[key] for key in (L.COMPRESSOR_FILTER_HOURS.key, L.COMPRESSOR_OIL_HOURS.key)},
        decision=may_run(facts, in_force),
        output=compressor.output(front.session),
        readings=cylinder_history.compressor_readings(front.session),
        services=compressor.services(front.session),
        kinds=KINDS,
        tests=[(row, certificate_good(compressor.certificate_of(row), in_force)) for row in tests],
        air_test=air_test_due(front),
        air_test_every=in_force[L.COMPRESSOR_AIR_TEST_EVERY],
        limits={
            name: in_force[limit]
            for name, limit in (
                ("oxygen_min", L.AIR_OXYGEN_MIN),
                ("oxygen_max", L.AIR_OXYGEN_MAX),
                ("co", L.AIR_CO_MAX),
                ("co2", L.AIR_CO2_MAX),
                ("oil", L.AIR_OIL_MAX),
                ("water", L.AIR_WATER_MAX),
                ("water_high", L.AIR_WATER_MAX_HIGH),
                ("high", L.AIR_WATER_HIGH_ABOVE),
            )
        },
        banks=compressor.banks(front.session, all_of_them=True),
        may_write=may_fill(front),
        may_change=front.visitor.has(MANAGER),
        when=when(front),
    )
