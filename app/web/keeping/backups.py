"""Backups: what there is, making one now, rehearsing, checking the records, and where backups go."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions import chores
from app.actions.act import Act
from app.actions.keep import backups
from app.records.backups import backup
from app.records.backups.backup_state import BACKUP, REHEARSAL, VERIFY, backup_state
from app.records.setup import shop as shop_records
from app.web.front import Desk, Front
from app.web.pages import ProblemView, say_moment
from app.web.posted import Posted, PostedForm, button_only
from app.web.setup.shop import asks_again, confirm

router = APIRouter()
# Files of each kind that the page lists; the folder keeps them all.
SHOWN = 34


@router.get("/backups", name="backups")
def backups_page(front: Desk) -> Response:
    """Show how the backups stand, and what is being done about them."""
    return _page(front)


@router.post("/backups/now", name="back_up_now")
def back_up_now(front: Desk, posted: PostedForm) -> Response:
    """Begin a backup beside the pages."""
    return _begin(front, posted, BACKUP)


@router.post("/backups/rehearse", name="rehearse_backup")
def rehearse_backup(front: Desk, posted: PostedForm) -> Response:
    """Begin a rehearsal of the newest backup beside the pages."""
    return _begin(front, posted, REHEARSAL)


@router.post("/backups/folder", name="choose_backup_folder")
def choose_backup_folder(front: Desk, posted: PostedForm) -> Response:
    """Choose where backups go."""

    def choose(act: Act) -> None:
        fields = posted.fields()
        typed = fields.text("folder", "the folder", most=300, needed=False)
        confirm(front, act, fields)
        fields.done()
        backups.choose_folder(act, posted.edits, typed)

    return front.do(posted, choose, then=lambda _: "/backups", again=lambda problem: _page(front, problem))


def _begin(front: Front, posted: Posted, chore: str) -> Response:
    """Begin a long work and go back to the page that tells of it; one at a time, a second waits its turn."""
    return front.do(
        posted,
        button_only(posted, lambda act: chores.begin(act.house, chore, act.actor.name)),
        then=lambda _: "/backups",
        again=lambda problem: _page(front, problem),
    )


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    state = backup_state(front.session, front.house)
    copies = backup.copies(state.folder, backup.DATA)
    row = shop_records.shop_row(front.session)
    return front.page(
        "keeping/backups.html",
        "Backups",
        problem=problem,
        state=state,
        runs=[(what, state.run(key)) for what, key in _KINDS],
        at_work=front.house.at_work.now,
        copies=copies[:SHOWN],
        more=len(copies) - SHOWN,
        key_copies=len(backup.copies(state.folder, backup.KEY_COPY)),
        row=row,
        moment=lambda instant: say_moment(instant, front.shop.zone),
        asks_again=asks_again(front),
    )


_KINDS = (
    ("Backup", BACKUP),
    ("Rehearsal: can the newest backup be put back?", REHEARSAL),
    ("Check of every record against the trail", VERIFY),
)
