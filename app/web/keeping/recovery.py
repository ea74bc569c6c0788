"""The recovery sheet: shown to be printed, proved to be on paper, made anew when one was lost."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.keep import backups
from app.records.backups import recovery
from app.records.backups.backup_state import backup_state
from app.records.store.problems import NotHere
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.setup.shop import asks_again, confirm

router = APIRouter()
AT = "/backups/sheet"


@router.get(AT, name="recovery_sheet")
def recovery_sheet(front: Desk) -> Response:
    """Show the words of a sheet that is not printed yet, to whoever typed their passphrase a moment ago."""
    return _page(front)


@router.post(f"{AT}/show", name="show_recovery_sheet")
def show_recovery_sheet(front: Desk, posted: PostedForm) -> Response:
    """Ask for the passphrase before the words are shown; makes the first sheet where there is none."""

    def show(act: Act) -> None:
        fields = posted.fields()
        confirm(front, act, fields)
        fields.done()
        recovery.newest_sheet(act.house.settings.data, act.now)

    return front.do(posted, show, then=lambda _: AT, again=lambda problem: _page(front, problem))


@router.post(f"{AT}/printed", name="sheet_printed")
def sheet_printed(front: Desk, posted: PostedForm) -> Response:
    """Take the last group off the paper as proof that it is there."""

    def printed(act: Act) -> None:
        fields = posted.fields()
        number = fields.whole("number", "Sheet", 1, 9999)
        group = fields.text("last_group", "group 6 of the paper", most=20)
        fields.done()
        if number is None:
            raise NotHere("no such sheet")
        backups.sheet_printed(act, number, group)

    return front.do(posted, printed, then=lambda _: "/backups", again=lambda problem: _page(front, problem))


@router.post(f"{AT}/new", name="new_recovery_sheet")
def new_recovery_sheet(front: Desk, posted: PostedForm) -> Response:
    """Make a new sheet."""

    def new(act: Act) -> None:
        fields = posted.fields()
        reason = fields.text("reason", "why a new sheet is needed", most=200)
        confirm(front, act, fields)
        fields.done()
        backups.new_sheet(act, reason)

    return front.do(posted, new, then=lambda _: AT, again=lambda problem: _page(front, problem))


def _page(front: Front, problem: ProblemView | None = None) -> Response:
    state, again = backup_state(front.session, front.house), asks_again(front)
    sheet = state.sheet
    return front.page(
        "keeping/sheet.html",
        "Recovery sheet",
        problem=problem,
        sheet=sheet,
        groups=sheet.words.split() if sheet is not None and not again else [],
        state=state,
        asks_again=again,
    )
