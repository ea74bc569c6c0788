"""Breathing: how the promised bands held, what the shop's dives taught, and which dives were odd."""

from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.planning.breathing import PRIOR_SPREAD
from app.records.plans.breathing_report import Report, breathing_report
from app.web.front import Desk
from app.web.gas_room.board import when
from app.web.look_back.breathing_picture import picture
from app.web.plans.words import rests_on

router = APIRouter()
DAYS = 30
SHOWN = 60


@router.get("/look-back/breathing", name="breathing")
def breathing(front: Desk) -> Response:
    """Show coverage, the learned middle, odd dives and the picture."""
    report = breathing_report(front.session, front.house, front.now - timedelta(days=DAYS))
    return front.page(
        "look_back/breathing.html",
        "Breathing",
        report=report,
        finding=_finding(report),
        rests_on=rests_on(report.dives),
        picture=picture(report.held, front.visitor.units) if report.held else "",
        prior_spread=PRIOR_SPREAD,
        days=DAYS,
        shown=list(reversed(report.held))[:SHOWN],
        when=when(front),
    )


def _finding(report: Report) -> str:
    """Say how the bands held, and within which bounds that is known."""
    count = len(report.held)
    if count == 0:
        return f"No dive of the last {DAYS} days had a plan, a start and an end pressure yet."
    low, high = (round(100 * share) for share in report.interval)
    said = (
        f"Of {count} {'dive' if count == 1 else 'dives'} in {DAYS} days, {report.inside} ended "
        f"inside the band ({round(100 * report.inside / count)} %). "
    )
    if report.few:
        return said + f"Too few to tell: the true share may be {low} to {high} %."
    known = f"The true share is likely {low} to {high} %; the plans promise 90 %."
    return said + known
