"""The blank paper pack for a power cut: the steps of the screens in their order, with the shop's figures."""

from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from app.records.question_sets import shipped_question_set
from app.records.setup.shop import limits_now
from app.rules import briefing, limits, paper_plan
from app.rules.incidents import CATEGORIES, PHASES, SEVERITIES
from app.rules.question_set import Part
from app.rules.resolve import Limits
from app.rules.sign_off import SKILLS
from app.web.front import Desk
from app.web.printing import printed

router = APIRouter()
# A guide and as many guests as nobody goes past.
GUESTS = 4
PARTS = ((Part.HISTORY, "Counts for several days"), (Part.TODAY, "Counts for today"))


@router.get("/prints/blank", name="paper_pack")
def paper_pack(front: Desk) -> Response:
    """Show the whole blank pack for one group and one guest's health questions."""
    binding = limits_now(front.session)
    asked = binding[limits.SKILLS_REQUIRED_SET].names or ()
    return printed(
        front,
        "prints/pack.html",
        "Blank paper pack",
        name="paper-pack",
        whole=front.request.query_params.get("as") == "pdf",
        guests=range(GUESTS),
        **_questions(binding, "2. "),
        figures=paper_plan.figures(binding),
        shared=paper_plan.shared_way_up(binding),
        cylinders=paper_plan.CYLINDERS_L,
        rate=paper_plan.breathing_rate_l_min(),
        briefing_items=[
            (item, None if item.limit is None else binding[item.limit]) for item in briefing.BRIEFING
        ],
        kit_items=briefing.KIT_CHECK,
        revised=briefing.REVISED,
        skills=[SKILLS[key] for key in SKILLS if key in asked],
        severities=SEVERITIES,
        categories=CATEGORIES,
        phases=PHASES,
        no_fly=binding[limits.NO_FLY_SINGLE],
        advise=binding[limits.NO_FLY_ADVISE],
    )


@router.get("/prints/blank/health", name="paper_health")
def paper_health(front: Desk) -> Response:
    """Show the health questions of one guest on paper, with nobody's name on it."""
    title = "Health questions on paper"
    return printed(
        front, "prints/health.html", title, name="paper-health", **_questions(limits_now(front.session), "")
    )


def _questions(binding: Limits, number: str) -> dict[str, Any]:
    questions = shipped_question_set()
    return {
        "number": number,
        "questions": [
            (words, [one for one in questions.questions if one.part is part]) for part, words in PARTS
        ],
        "question_version": questions.version,
        "review": questions.review,
        "majority": binding[limits.MAJORITY_AGE],
    }
