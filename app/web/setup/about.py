"""About this program: its version and parts, where the records lie, the last backup, the last check."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions import chores
from app.actions.act import Act
from app.records.backups.backup_state import BACKUP, VERIFY
from app.records.setup.about import the_program, where_records_lie
from app.records.store.chores import LastRuns, last_runs
from app.records.store.room import LEAST_FREE
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()


@router.get("/setup/about", name="about")
def about(front: Desk) -> Response:
    """Show what runs here, where the records lie, and when they were last copied and checked."""
    return _page(front)


@router.post("/setup/about/check", name="check_records")
def check_records(front: Desk, posted: PostedForm) -> Response:
    """Begin a check of the records beside the pages."""

    def begin(act: Act) -> bool:
        posted.fields().done()
        act.about = ("chore", VERIFY)
        return chores.begin(front.house, VERIFY, act.actor.name)

    return front.do(
        posted, begin, then=lambda _: "/setup/about#check", again=lambda problem: _page(front, problem)
    )


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    runs = last_runs(front.session)
    store = where_records_lie(front.session, front.house)
    return front.page(
        "setup/about.html",
        "About this program",
        problem=problem,
        program=the_program(),
        store=store,
        room_is_short=store.free_mb * 1_000_000 < LEAST_FREE,
        backup=runs.get(BACKUP, LastRuns()),
        check=runs.get(VERIFY, LastRuns()),
        work=front.house.at_work.now,
    )
