"""Earlier dives from the shop's paper: pasted, looked at line by line, stored, and taken back as a list."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act, Problem
from app.actions.groups import earlier_dives as act_on
from app.records.plans.earlier_dives import EarlierDive, batch, batches, new_ones
from app.records.setup.shop import limits_now
from app.web.fields import Fields
from app.web.front import Desk, Front
from app.web.gas_room.board import when
from app.web.look_back.earlier_lines import COLUMNS, MOST_LINES, Line, read_lines
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
HERE = "/look-back/breathing/earlier"
# Room for the most lines of the longest kind.
TEXT_MOST = 80 * MOST_LINES
SHOWN = 20


@router.get(HERE, name="earlier_dives")
def earlier_dives(front: Desk) -> Response:
    """Show the form for pasting, and the lists that are stored."""
    return _page(front)


@router.post(f"{HERE}/review", name="review_earlier_dives")
def review_earlier_dives(front: Desk, posted: PostedForm) -> Response:
    """Show what the pasted lines say, line by line, before anything is stored."""
    fields = posted.fields()
    try:
        lines, note = _read(front, fields)
        fields.done()
    except Problem as problem:
        view = ProblemView.of(problem, "review_earlier_dives", posted.values, front.shop.zone, posted.path)
        return _page(front, view, _lines_again(front, posted.values.get("lines", "")))
    dives = [one.dive for one in lines if one.dive is not None]
    return front.page(
        "look_back/review.html",
        f"{len(dives)} earlier {'dive' if len(dives) == 1 else 'dives'}: look once more",
        lines=lines[:SHOWN],
        count=len(dives),
        fresh=len(new_ones(front.session, dives)),
        text=posted.values.get("lines", ""),
        note=note,
    )


@router.get(f"{HERE}/review", name="review_earlier_dives_page")
def review_earlier_dives_page(front: Desk) -> Response:
    """A review reloaded without its form leads back to pasting."""
    return front.to(HERE)


@router.post(HERE, name="store_earlier_dives")
def store_earlier_dives(front: Desk, posted: PostedForm) -> Response:
    """Store the lines as reviewed; everything is checked again."""

    def store(act: Act) -> None:
        fields = posted.fields()
        lines, note = _read(front, fields)
        fields.done()
        act_on.store_earlier_dives(act, _dives(lines), note)

    def again(problem: ProblemView) -> Response:
        moved = ProblemView(
            problem.title,
            problem.status,
            "review_earlier_dives",
            f"{HERE}/review",
            problem.errors,
            values=problem.values,
        )
        return _page(front, moved, _lines_again(front, posted.values.get("lines", "")))

    return front.do(posted, store, then=lambda _: f"{HERE}#lists", again=again)


@router.post(f"{HERE}/{{batch_id}}/back", name="take_back_earlier_dives")
def take_back_earlier_dives(front: Desk, posted: PostedForm, batch_id: int) -> Response:
    """Let a stored list count no more."""
    batch(front.session, batch_id)

    def back(act: Act) -> None:
        fields = posted.fields()
        why = fields.text("why", "why this list is taken back")
        fields.done()
        act_on.take_back_earlier_dives(act, batch_id, why)

    return front.do(posted, back, then=lambda _: f"{HERE}#lists", again=lambda problem: _page(front, problem))


def _read(front: Front, fields: Fields) -> tuple[list[Line], str]:
    text = fields.text("lines", "the lines of your earlier dives", most=TEXT_MOST)
    note = fields.text("note", "where the list comes from", needed=False)
    lines = read_lines(text, front.today, limits_now(front.session))
    wrong = [one for one in lines if one.wrong]
    if len(lines) > MOST_LINES:
        fields.wrong("lines", f"At most {MOST_LINES} dives at a time; these are {len(lines)}. Paste fewer.")
    elif wrong:
        count = f"{len(wrong)} lines cannot be read" if len(wrong) > 1 else "One line cannot be read"
        fields.wrong("lines", f"{count}. Put it right and look again; nothing was stored.")
    elif text and not lines:
        fields.wrong("lines", "There is no dive in these lines. Paste one dive a line.")
    return lines, note


def _dives(lines: list[Line]) -> list[EarlierDive]:
    return [one.dive for one in lines if one.dive is not None]


def _lines_again(front: Front, text: str) -> list[Line]:
    return [one for one in read_lines(text[:TEXT_MOST], front.today, limits_now(front.session)) if one.wrong]


def _page(front: Front, problem: ProblemView | None = None, wrong: list[Line] | None = None) -> Response:
    return front.page(
        "look_back/earlier.html",
        "Earlier dives",
        problem=problem,
        wrong=(wrong or [])[:SHOWN],
        more_wrong=max(0, len(wrong or []) - SHOWN),
        lists=batches(front.session),
        columns=COLUMNS,
        most=MOST_LINES,
        when=when(front),
    )
