"""The briefing in the guests' languages, in big letters, for a guide to hold up."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.plans.plans import current_plan
from app.records.water_side.entry import entry
from app.rules import briefing
from app.rules.briefing_words import SENTENCES, briefing_code
from app.web.front import Desk, Front
from app.web.languages.held_up import held_up
from app.web.water_side.pages import own

router = APIRouter()


@router.get("/water/{group_id}/words", name="briefing_words")
def briefing_words(front: Desk, group_id: int) -> Response:
    """Show each item of the briefing in one language, the English beside it."""
    view = own(front, group_id)
    held = held_up(front, view)
    found = _figures(front, group_id)
    return front.page(
        "languages/briefing.html",
        f"Briefing for group {view.group.name}",
        view=view,
        held=held,
        path=f"/water/{group_id}/words",
        show="",
        items=[
            (
                held.words.show(briefing_code(item.key), SENTENCES[item.key]),
                item.limit,
                found.get(item.key),
            )
            for item in briefing.BRIEFING
        ],
    )


def _figures(front: Front, group_id: int) -> dict[str, float | None]:
    """Return what is said to everyone, by item: the limits, or the issued plan where it is stricter."""
    binding = entry(front.session, front.house, group_id, front.now).limits
    found = {item.key: binding[item.limit].number for item in briefing.BRIEFING if item.limit is not None}
    plan = current_plan(front.session, front.house, group_id, front.now)
    if plan is not None:
        found["turn"] = max(found["turn"] or 0, float(plan.case["turn_bar"]))
        found["time"] = min(found["time"] or float(plan.answer["run_min"]), float(plan.answer["run_min"]))
    return found
