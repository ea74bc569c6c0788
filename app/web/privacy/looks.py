"""The keeper's reviews: the log of looks once a week, each emergency look the day after."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import keeper as acts
from app.records.health import keeper
from app.records.tables.privacy import LookReviewRow
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.privacy.home import REVIEWED_SHOWN

router = APIRouter()
# More digits than any number of a look has.
NUMBER_MOST = 999_999_999


@router.get("/health-records/review", name="review_page")
def review_page(front: Desk) -> Response:
    """Show what is to be reviewed."""
    return _page(front)


@router.post("/health-records/review", name="review_looks")
def review_looks(front: Desk, posted: PostedForm) -> Response:
    """Store that the log was looked through."""

    def review(act: Act) -> LookReviewRow:
        fields = posted.fields()
        up_to = fields.whole("up_to", "the newest look shown", 0, NUMBER_MOST)
        found, note = _found(fields)
        fields.done()
        return acts.review_looks(act, up_to or 0, found, note)

    return front.do(
        posted,
        review,
        then=lambda _: "/health-records/review",
        again=lambda problem: _page(front, problem),
    )


@router.post("/health-records/review/{look_id}", name="review_emergency")
def review_emergency(front: Desk, posted: PostedForm, look_id: int) -> Response:
    """Store that one emergency look was reviewed."""

    def review(act: Act) -> LookReviewRow:
        fields = posted.fields()
        found, note = _found(fields)
        fields.done()
        return acts.review_emergency(act, look_id, found, note)

    return front.do(
        posted,
        review,
        then=lambda _: "/health-records/review",
        again=lambda problem: _page(front, problem),
    )


def _found(fields: Fields) -> tuple[str, str]:
    return fields.choice("found", "what you found", acts.FOUND), fields.note("note", "a line")


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    log = keeper.log_state(front.session)
    return front.page(
        "privacy/review.html",
        "Review looks",
        problem=problem,
        log=log,
        overdue=log.overdue(front.now),
        looks=keeper.looks_since_review(front.session, log),
        emergencies=keeper.emergency_looks(front.session, front.now - REVIEWED_SHOWN),
        found=list(acts.FOUND.items()),
        day_of=front.shop.day_of,
    )
