"""Guest side: the language, which can be changed at the top of every page."""

import re

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.guest_side import guest_language as acts
from app.records.guest_side.languages import complete_languages
from app.rules.sentences import Sentence
from app.web.front import Desk
from app.web.guest_side.visit import chosen
from app.web.posted import PostedForm

router = APIRouter()
# Pages that can be opened again as they were.
PAGES = re.compile(r"^/guest(/(consent|questions/\d{1,3}|review|sign|guardian|not-today))?$")
WELCOME = "/guest"


@router.post("/guest/language", name="choose_language")
def choose_language(front: Desk, posted: PostedForm) -> Response:
    """Speak another language, and show the page that the guest was on."""

    def choose(act: Act) -> str:
        fields = posted.fields()
        code = chosen(fields, "language", complete_languages(), Sentence("Choose one of the languages."))
        back = fields.text("back", "the page", needed=False)
        fields.done()
        acts.choose_language(act, front.visitor.visit_id, code)
        return back if PAGES.match(back) else WELCOME

    return front.do(posted, choose, then=lambda back: back, again=lambda _: front.to(WELCOME))
