"""How long sealed health records are kept: a starting point by country, the shop's own times, the history."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import keeper as acts
from app.records.health.retention import keeping_history, keeping_now, live_days
from app.rules.retention import COUNTRIES
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.setup.shop import asks_again, confirm

router = APIRouter()
MONTHS_MOST, AGE_LEAST, AGE_MOST, MORE_MOST = 480, 18, 50, 60


@router.get("/setup/keeping", name="keeping_page")
def keeping_page(front: Desk) -> Response:
    """Show how long records are kept."""
    return _page(front)


@router.post("/setup/keeping", name="set_keeping")
def set_keeping(front: Desk, posted: PostedForm) -> Response:
    """Set how long records are kept."""

    def change(act: Act) -> None:
        fields = posted.fields()
        country = fields.choice("country", "the country you started from", COUNTRIES)
        adult = fields.whole("adult_months", "Months after the dive", 0, MONTHS_MOST)
        age = fields.whole("minor_age", "Birthday", AGE_LEAST, AGE_MOST)
        more = fields.whole("minor_months", "Months after that birthday", 0, MORE_MOST)
        reason = fields.text("reason", "why it changes", most=200)
        confirm(front, act, fields)
        fields.done()
        acts.set_keeping(act, country, adult or 0, age or 0, more or 0, reason)

    return front.do(
        posted, change, then=lambda _: "/setup/keeping", again=lambda problem: _page(front, problem)
    )


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    asked = front.request.query_params.get("country", "")
    return front.page(
        "privacy/keeping.html",
        "How long health records are kept",
        problem=problem,
        keeping=keeping_now(front.session),
        start=COUNTRIES.get(asked, keeping_now(front.session)),
        countries=list(COUNTRIES.values()),
        live=live_days(front.session),
        history=keeping_history(front.session),
        asks_again=asks_again(front),
        day_of=front.shop.day_of,
    )
