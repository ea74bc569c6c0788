"""Water side, coming out: roll call in, head counts, calling a dive off, a missing person."""

from collections.abc import Callable

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.water_side import coming_out
from app.records.groups.groups import group_view
from app.records.store.problems import NotHere
from app.records.water_side.counts import missing_rows
from app.rules.head_count import CountState
from app.web.front import Desk, Front
from app.web.posted import Posted, PostedForm
from app.web.visiting import SignInFirst
from app.web.water_side.pages import back_page, belongs, member_sent, own, words_sent

router = APIRouter()


@router.get("/water/{group_id}/back", name="back_in")
def back_in(front: Desk, group_id: int) -> Response:
    """Show who is in the water and the roll call in; to an ended phone its own group, until it closes."""
    if front.visitor.ended_device:
        view = own(front, group_id)
        if view.group.entered_at is None or view.group.closed_at is not None:
            raise SignInFirst
    return back_page(front, group_id)


@router.post("/water/{group_id}/back/{member_id}", name="mark_back")
def mark_back(front: Desk, posted: PostedForm, group_id: int, member_id: int) -> Response:
    """Mark one person as back; never refused."""
    belongs(front, group_id, member_id)

    def back(act: Act) -> None:
        coming_out.mark_back(act, member_id, posted.device_at)

    return _back(front, posted, group_id, back, f"#person-{member_id}")


@router.post("/water/{group_id}/still-in/{member_id}", name="still_in")
def still_in(front: Desk, posted: PostedForm, group_id: int, member_id: int) -> Response:
    """Put a wrong mark right: the person is still in the water."""
    belongs(front, group_id, member_id)

    def undo(act: Act) -> None:
        coming_out.still_in(act, member_id, words_sent(posted, "why") or "marked by mistake")

    return _back(front, posted, group_id, undo, f"#person-{member_id}")


@router.post("/water/{group_id}/count", name="count_heads")
def count_heads(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Store a head count of those who came out, by whoever is signed in."""
    group_view(front.session, group_id)

    def count(act: Act) -> CountState:
        fields = posted.fields()
        counted = fields.whole("counted", "The number of people", 0, 99) or 0
        fields.done()
        return coming_out.count_heads(act, group_id, counted)

    return front.do(
        posted,
        count,
        then=lambda state: f"/water/{group_id}/back{'#missing' if state is CountState.MISSING else '#count'}",
        again=lambda problem: back_page(front, group_id, problem),
    )


@router.post("/water/{group_id}/call-off", name="call_off")
def call_off(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """End the dive for good."""
    view = own(front, group_id)

    def end(act: Act) -> None:
        coming_out.call_off(act, group_id, words_sent(posted, "why") or "no reason said")

    return front.do(
        posted,
        end,
        then=lambda _: f"/water/{group_id}{'/back' if view.group.entered_at else ''}",
        again=lambda problem: back_page(front, group_id, problem),
    )


@router.post("/water/{group_id}/missing", name="report_missing")
def report_missing(front: Desk, posted: PostedForm, group_id: int) -> Response:
    """Start the missing-person procedure; never refused."""
    view = group_view(front.session, group_id)

    def start(act: Act) -> None:
        coming_out.report_missing(act, group_id, member_sent(posted, view), words_sent(posted, "last_seen"))

    return _back(front, posted, group_id, start, "#missing")


@router.post("/water/{group_id}/found/{missing_id}", name="report_found")
def report_found(front: Desk, posted: PostedForm, group_id: int, missing_id: int) -> Response:
    """End a missing-person procedure with who and where."""
    view = group_view(front.session, group_id)
    if missing_id not in {row.id for row in missing_rows(front.session, group_id)}:
        raise NotHere(f"missing {missing_id}")

    def found(act: Act) -> None:
        coming_out.report_found(act, missing_id, member_sent(posted, view), words_sent(posted, "where"))

    return _back(front, posted, group_id, found, "#missing")


def _back(front: Front, posted: Posted, group_id: int, act: Callable[[Act], None], place: str) -> Response:
    return front.do(
        posted,
        act,
        then=lambda _: f"/water/{group_id}/back{place}",
        again=lambda problem: back_page(front, group_id, problem),
    )
