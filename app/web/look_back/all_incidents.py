"""All incidents over time, open ones first, and what may honestly be said of how often they happen."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.look_back.incident_list import incident_year
from app.records.store.problems import NotHere
from app.rules.incidents import CATEGORIES
from app.web.front import FIRST_DAY, LAST_DAY, Desk

router = APIRouter()


@router.get("/incidents", name="incidents")
def all_incidents(front: Desk) -> Response:
    """Show the incidents of a year, of one kind or of all."""
    said = front.request.query_params
    year, kind = said.get("year", str(front.today.year)), said.get("kind", "")
    if not (year.isascii() and year.isdecimal() and FIRST_DAY.year <= int(year) <= LAST_DAY.year):
        raise NotHere("no such year")
    if kind and kind not in CATEGORIES:
        raise NotHere("no such kind")
    return front.page(
        "look_back/incidents.html",
        "Incidents",
        shown=incident_year(front.session, int(year), kind),
        kind=kind,
        categories=CATEGORIES,
    )
