"""Kit rail: the shop's own size chart, and what a first dive needs."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.kit_rail import kit_fit as acts
from app.records.kit_rail import kit_sizes
from app.records.setup import shop as shop_records
from app.records.store.problems import NotHere
from app.records.tables.kit_keeping import KitNeedsRow, SizeChartRow
from app.rules.kit import KINDS, SIZES
from app.rules.limits import KIT_HOOD_BELOW
from app.rules.size_chart import BUILT_IN, MEASURES, SOURCE, Band
from app.web.access import MANAGER
from app.web.fields import Fields
from app.web.front import NUMBER_MOST, Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
WHY_LENGTH = 200
SIZED = {kind: words for kind, words in KINDS.items() if SIZES[kind]}
FEET = ("boots", "fins")


@router.get("/kit/chart", name="size_charts")
def size_charts(front: Desk) -> Response:
    """Show which kinds a first dive needs, and the chart of each kind with sizes."""
    return _overview(front)


@router.post("/kit/chart", name="set_needs")
def set_needs(front: Desk, posted: PostedForm) -> Response:
    """Write down what a first dive needs."""

    def write(act: Act) -> KitNeedsRow:
        fields = posted.fields()
        kinds = fields.several("kind", "what a first dive needs", KINDS)
        if not kinds and "kind" not in fields.errors:
            fields.wrong("kind", "Tick at least one kind.")
        why = fields.text("why", "why it changes", most=WHY_LENGTH)
        seen = _seen(fields)
        fields.done()
        return acts.set_needs(act, kinds, seen, why)

    return front.do(
        posted, write, then=lambda _: "/kit/chart", again=lambda problem: _overview(front, problem)
    )


@router.get("/kit/chart/{kind}", name="size_chart")
def size_chart(front: Desk, kind: str) -> Response:
    """Show the sizes of one kind, what was told of them at the mirror, and a form to change them."""
    return _chart_page(front, _known(kind))


@router.post("/kit/chart/{kind}", name="write_chart")
def write_chart(front: Desk, posted: PostedForm, kind: str) -> Response:
    """Make sizes the shop's own for one kind."""
    _known(kind)

    def write(act: Act) -> SizeChartRow:
        fields = posted.fields()
        bands = {measure: _bands(fields, kind, measure) for measure in measures_of(kind)}
        why = fields.text("why", "why it changes", most=WHY_LENGTH)
        seen = _seen(fields)
        fields.done()
        return acts.write_chart(act, kind, seen, bands, why)

    return front.do(
        posted,
        write,
        then=lambda _: f"/kit/chart/{kind}",
        again=lambda problem: _chart_page(front, kind, problem),
    )


def measures_of(kind: str) -> tuple[str, ...]:
    """The measures that may decide the size of a kind."""
    return ("shoe",) if kind in FEET else ("height", "weight")


def _known(kind: str) -> str:
    if kind not in SIZED:
        raise NotHere("no such kind")
    return kind


def _seen(fields: Fields) -> int:
    return fields.whole("seen", "The version seen", 0, 10**NUMBER_MOST - 1) or 0


def _bands(fields: Fields, kind: str, measure: str) -> tuple[Band, ...]:
    """The rows of one measure that are filled in; a row left empty is a size that nobody gets by it."""
    one, rows = MEASURES[measure], []
    for size in SIZES[kind]:
        ends = []
        for end, words in (("low", "above"), ("high", "up to")):
            label = f"{size} {words}"
            ends.append(
                fields.number(f"{measure}-{size}-{end}", label, 0, one.highest, one.unit, needed=False)
            )
        low, high = ends
        if low is not None and high is not None:
            rows.append(Band(low, high, size))
        elif (low is None) != (high is None):
            missing = "low" if low is None else "high"
            fields.errors.setdefault(
                f"{measure}-{size}-{missing}", f"{size}: write both ends, or leave both empty."
            )
    return tuple(rows)


def _overview(front: Front, problem: ProblemView | None = None) -> Response:
    rows = kit_sizes.needs_history(front.session)
    sent = problem is not None and problem.action == "set_needs"
    now = kit_sizes.needs_now(front.session)
    return front.page(
        "kit_rail/charts.html",
        "Sizes, and what a first dive needs",
        problem=problem,
        kinds=list(KINDS.items()),
        sized=list(SIZED.items()),
        needed=problem.lists.get("kind", ()) if problem is not None and sent else now,
        now_needed=[KINDS[kind] for kind in now],
        seen=rows[0].id if rows else 0,
        history=rows,
        own=kit_sizes.own_charts(front.session),
        hood=shop_records.limits_now(front.session)[KIT_HOOD_BELOW],
        day_of=front.shop.day_of,
        may_change=front.visitor.has(MANAGER),
        source=SOURCE,
    )


def _chart_page(front: Front, kind: str, problem: ProblemView | None = None) -> Response:
    chart = kit_sizes.chart_now(front.session).get(kind, {})
    rows = kit_sizes.chart_history(front.session, kind)
    return front.page(
        "kit_rail/chart.html",
        f"Sizes of {KINDS[kind].lower()}",
        problem=problem,
        kind=kind,
        sizes=SIZES[kind],
        measures=[MEASURES[measure] for measure in measures_of(kind)],
        ends={
            measure: {band.size: (f"{band.low:g}", f"{band.high:g}") for band in chart.get(measure, ())}
            for measure in measures_of(kind)
        },
        tried=kit_sizes.tried(front.session, kind),
        seen=rows[0].id if rows else 0,
        history=rows,
        built_in=kind in BUILT_IN and not rows,
        day_of=front.shop.day_of,
        may_change=front.visitor.has(MANAGER),
        source=SOURCE,
    )
