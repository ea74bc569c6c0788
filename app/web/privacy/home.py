"""Health records: what waits for the keeper, how many records are where, and the promise of secrecy."""

from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.health import retention, secrecy
from app.records.health import keeper, letters
from app.records.health.keeper import KEEPER as KEEPS
from app.records.health.retention import counts, due, holds_now, keeping_now
from app.rules.choices import SECRECY
from app.web.access import KEEPER
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm, button_only

router = APIRouter()
# What an act answers that was carried out.
LEADS_ON = 303
# Emergency looks are reviewed the day after; reviewed ones stay in sight for as long.
REVIEWED_SHOWN = timedelta(days=2)
# Letters of guests whose day is longer ago change nothing any more.
LETTERS_SHOWN = timedelta(days=30)


@router.get("/health-records", name="health_records")
def health_records(front: Desk) -> Response:
    """Show what waits, the stages with their counts, and who may open what."""
    return _page(front)


@router.post("/health-records/tidy", name="tidy_records")
def tidy_records(front: Desk, posted: PostedForm) -> Response:
    """Move every record to where it belongs now, and show counts."""
    # The run is made of small acts of its own; this one only says that it was asked for.
    answer = front.do(
        posted,
        button_only(posted, lambda _act: None),
        then=lambda _: "/health-records",
        again=lambda problem: _page(front, problem),
    )
    if answer.status_code != LEADS_ON:
        return answer
    front.session.rollback()
    retention.keep_and_erase(front.house, by=front.actor(), asked=True)
    return answer


@router.get("/your-promise", name="your_promise")
def your_promise(front: Desk) -> Response:
    """Show what whoever opens health data promises."""
    return _promise_page(front)


@router.post("/your-promise", name="promise_secrecy")
def promise_secrecy(front: Desk, posted: PostedForm) -> Response:
    """Store the promise of the person who is signed in."""
    return front.do(
        posted,
        button_only(posted, secrecy.promise),
        then=lambda _: "/your-promise",
        again=lambda problem: _promise_page(front, problem),
    )


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    session = front.session
    keeps, since = front.visitor.has(KEEPER), front.today - keeper.LETTERS_SHOWN
    log = keeper.log_state(session)
    emergencies = keeper.emergency_looks(session, front.now - REVIEWED_SHOWN)
    people = keeper.promises(session)
    return front.page(
        "privacy/home.html",
        "Health records",
        problem=problem,
        keeps=keeps,
        to_record=letters.to_record(session, since) if keeps else [],
        to_compare=letters.to_compare(session, since) if keeps else [],
        log=log,
        log_overdue=log.overdue(front.now),
        emergencies=[one for one in emergencies if one.review is None],
        holds=holds_now(session),
        guests=keeper.guests_by_ref(session, [one.guest_ref for one in holds_now(session)]),
        suggested=keeper.without_hold(session),
        breaches=[one for one in keeper.breaches(session) if not one.closed],
        stages=counts(session, front.today),
        due=due(session, front.today),
        keeping=keeping_now(session),
        last=keeper.last_tidy(session),
        people=people,
        keepers=[one.person for one in people if KEEPS in one.person.role_set()],
        day_of=front.shop.day_of,
    )


def _promise_page(front: Front, problem: ProblemView | None = None) -> Response:
    return front.page(
        "privacy/promise.html",
        "Your promise",
        problem=problem,
        lines=SECRECY,
        signed_on=keeper.promised(front.session, front.visitor.person_id),
    )
