"""One cylinder's life as a chart: pressure over a week, a season or all of it, with what happened."""

from datetime import datetime, time, timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.planning.gas_account import bar_litres
from app.records.gas_room.cylinder_life import Life, life_of
from app.records.store.problems import NotHere
from app.web.figures import Figures
from app.web.front import Desk, Front
from app.web.gas_room.board import when
from app.web.gas_room.life_picture import life_picture

router = APIRouter()
# Span -> days and words; a season is half a year, so that it holds a whole summer.
SPANS: dict[str, tuple[int | None, str]] = {
    "week": (7, "This week"),
    "season": (183, "This season"),
    "all": (None, "All of it"),
}
MOST_ROWS = 100


@router.get("/gas/cylinders/{cylinder_id}/life", name="cylinder_life")
def cylinder_life(front: Desk, cylinder_id: int) -> Response:
    """Show one cylinder's life over the span of ``?span=``."""
    span = front.request.query_params.get("span", "week")
    if span not in SPANS:
        raise NotHere("no such span")
    days, _ = SPANS[span]
    since = None
    if days is not None:
        since = datetime.combine(front.today - timedelta(days=days - 1), time(0), front.shop.zone)
    life = life_of(front.session, cylinder_id, since)
    figures = Figures(front.visitor.units)
    return front.page(
        "gas_room/life.html",
        f"Life of cylinder {life.row.number}",
        life=life,
        chosen=span,
        spans=[(key, words) for key, (_, words) in SPANS.items()],
        finding=_finding(front, life, figures),
        since_test=life.days_since_test(front.today),
        picture=life_picture(life, since, front.now, front.shop.zone, lambda bar: str(figures.bar(bar)))
        if life.points
        else None,
        points=life.points[: -MOST_ROWS - 1 : -1],
        more=max(0, len(life.points) - MOST_ROWS),
        breathed_bar_l=bar_litres(life.breathed_litres),
        when=when(front),
        day_of=front.shop.day_of,
    )


def _finding(front: Front, life: Life, figures: Figures) -> str:
    """Say in one sentence what the span held."""
    fills = "once" if life.fills == 1 else f"{life.fills} times"
    dives = "1 dive" if life.dives == 1 else f"{life.dives} dives"
    told = f"Filled {fills}, {dives}, {figures.litres(life.breathed_litres, 'near')} breathed."
    if life.points:
        newest = life.points[-1]
        told += f" Last known: {figures.bar(newest.bar)}, {when(front)(newest.at)}."
    return told
