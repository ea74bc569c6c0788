"""Hand signals for a guide to hold up: all of them, or one as large as the phone."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.store.problems import NotHere
from app.rules.hand_signals import SIGNALS, signal_code
from app.web.front import Desk
from app.web.languages.held_up import held_up
from app.web.water_side.pages import own

router = APIRouter()


@router.get("/water/{group_id}/signals", name="hand_signals")
def hand_signals(front: Desk, group_id: int) -> Response:
    """Show the signals with their words in one language, the English beside; ``?show=up`` is one alone."""
    view = own(front, group_id)
    held = held_up(front, view)
    show = front.request.query_params.get("show", "")
    if show and show not in SIGNALS:
        raise NotHere("no such signal")
    keys = list(SIGNALS)
    place = keys.index(show) if show else 0
    return front.page(
        "languages/signals.html",
        f"Hand signals for group {view.group.name}",
        view=view,
        held=held,
        path=f"/water/{group_id}/signals",
        signals=[(key, held.words.show(signal_code(key), SIGNALS[key])) for key in keys if show in ("", key)],
        show=show,
        before=keys[place - 1],
        after=keys[(place + 1) % len(keys)],
    )
