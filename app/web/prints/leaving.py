"""A print leaves the shop as a PDF: noted first, then made."""

import re

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.keep import prints as acts
from app.records.store.problems import NotHere
from app.web.front import Desk
from app.web.posted import PostedForm
from app.web.printing import PAPERS, pdf_address

router = APIRouter()
# The pages that are prints, with what they ask for: letters, digits and plain signs, so an address of ours.
PRINTS = re.compile(
    r"/(?:prints|days|plans|groups|water|labels)/[A-Za-z0-9/_-]{1,80}(?:\?[A-Za-z0-9_=&%+.-]{0,4000})?"
)
LONGEST = 4200


@router.post("/prints/pdf", name="make_pdf")
def make_pdf(front: Desk, posted: PostedForm) -> Response:
    """Note in the trail which print leaves on which paper, and lead to it."""
    page = posted.values.get("page", "")
    if not PRINTS.fullmatch(page):
        raise NotHere("no print has this address")

    def note(act: Act) -> str:
        fields = posted.fields()
        fields.text("page", "the print", most=LONGEST)
        paper = fields.choice("paper", "A4 or Letter", list(PAPERS))
        fields.done()
        acts.note_pdf(act, page, PAPERS[paper])
        return paper

    return front.do(
        posted,
        note,
        then=lambda paper: pdf_address(page, paper),
        again=lambda problem: front.page(
            "prints/not_made.html", "This PDF was not made", problem=problem, back=page
        ),
    )
