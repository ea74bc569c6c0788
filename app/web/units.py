"""Your units: what each signed-in person reads figures in. Records keep bar, m, °C, kg and L."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.setup.units import choose_units as choose
from app.planning.units import BASES, EVERY_OTHER, METRIC, UNITS, Units, other_units
from app.records.tables.people import PersonRow
from app.web.figures import Figures
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()

WHAT = {
    "bar": ("pressure", "Pressure"),
    "m": ("length", "Depth and distance"),
    "°C": ("temperature", "Temperature"),
    "kg": ("weight", "Weight"),
    "L": ("gas", "Amounts of gas"),
}
SETS = {"metric": METRIC, "other": EVERY_OTHER}
# How a page says a figure of each kind, and an everyday one as kept.
SAYERS = {"bar": "bar", "m": "metres", "°C": "degrees", "kg": "kilos", "L": "litres"}
EXAMPLES = {"bar": 200.0, "m": 8.0, "°C": 17.0, "kg": 6.0, "L": 1500.0}


@router.get("/your-units", name="your_units")
def your_units(front: Desk) -> Response:
    """Show which units the visitor reads, and the choice."""
    return _page(front)


@router.post("/your-units", name="choose_units")
def choose_units(front: Desk, posted: PostedForm) -> Response:
    """Keep the visitor's choice: all of one set, or each kind by itself."""

    def keep(act: Act) -> PersonRow:
        fields = posted.fields()
        whole = fields.choice("set", "one of the two sets", SETS, needed=False)
        words = [
            fields.choice(
                name, f"the unit of {label.lower()}", [base, *(one.name for one in other_units(base))],
                needed=not whole,
            )
            for base, (name, label) in WHAT.items()
        ]  # fmt: skip
        fields.done()
        return choose(act, SETS[whole] if whole else Units.of(words))

    return front.do(posted, keep, then=lambda _: "/your-units", again=lambda problem: _page(front, problem))


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    kinds = []
    for base, (name, label) in WHAT.items():
        options = []
        for unit in (UNITS[base], *other_units(base)):
            said = Figures(Units.of([unit.name])).names()[SAYERS[base]](EXAMPLES[base])
            options.append((unit.name, unit.name, f"{said}"))
        kinds.append((name, label, options, front.visitor.units.of_base(base).name))
    return front.page(
        "units/units.html",
        "Your units",
        problem=problem,
        kinds=kinds,
        sets=[(key, ", ".join(one.of_base(base).name for base in BASES)) for key, one in SETS.items()],
    )
