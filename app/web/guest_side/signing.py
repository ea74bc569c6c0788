"""Guest side, its end: the guest signs, a guardian signs for a minor, or the guest would rather not dive."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.guest_side import guest_form as acts
from app.actions.guest_side import hand_over as handing
from app.records.guest_side.guest_form import GuestForm
from app.records.store.problems import NotHere
from app.rules import consents
from app.rules.people import GuardianPlace
from app.rules.sentences import Sentence
from app.web.front import Desk, Front
from app.web.guest_side.form import review_page
from app.web.guest_side.visit import (
    agreed,
    chosen,
    drawn,
    ending,
    line,
    over,
    own_form,
    spoken,
    understood_context,
)
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
PLACES = {
    GuardianPlace.POOLSIDE: Sentence("Right beside the water"),
    GuardianPlace.ON_SITE: Sentence("On the site, not beside the water"),
    GuardianPlace.BY_PHONE: Sentence("Elsewhere, and I answer my phone"),
}
GUARDIAN_MUST_TICK = {
    "agree": Sentence("Tick the box if you agree to the dive."),
    "agree_health": Sentence("Tick the box if you agree to the use of the answers."),
    "rights": Sentence("Only somebody with parental rights can sign. Tick the box if you have them."),
}


@router.get("/guest/sign", name="sign_page")
def sign_page(front: Desk) -> Response:
    """Show the answers with the signature under them, as after a signature that could not be taken."""
    return review_page(front)


@router.post("/guest/sign", name="sign_form")
def sign_form(front: Desk, posted: PostedForm) -> Response:
    """Sign. A minor's guardian signs next; everybody else is done."""

    def sign(act: Act) -> bool:
        fields = posted.fields()
        if not fields.tick("agree"):
            fields.wrong("agree", Sentence("Choose one of the two buttons."))
        name = line(fields, "signed_name", Sentence("Enter your name."))
        drawing = drawn(fields)
        said = agreed(front, fields)
        fields.done()
        form = acts.sign(act, name, drawing, said)
        if not form.guardian_missing:
            handing.hand_back(act, front.visitor.visit_id, "signed")
        return form.guardian_missing

    return front.do(
        posted,
        sign,
        then=lambda missing: "/guest/guardian" if missing else "/guest/done",
        again=lambda problem: review_page(front, problem),
        show=lambda missing: front.to("/guest/guardian") if missing else over(front),
    )


@router.get("/guest/guardian", name="guardian_page")
def guardian_page(front: Desk) -> Response:
    """Ask a minor's parent or guardian."""
    return _guardian_page(front)


@router.post("/guest/guardian", name="sign_guardian")
def sign_guardian(front: Desk, posted: PostedForm) -> Response:
    """Store the guardian's consents and end."""

    def sign(act: Act) -> None:
        fields = posted.fields()
        words = acts.GuardianWords(
            name=line(fields, "name", Sentence("Enter your full name.")),
            relation=chosen(
                fields, "relation", _kinds(own_form(front)), Sentence("Choose what you are to the child.")
            ),
            phone=line(fields, "phone", Sentence("Enter the phone number we reach you on today.")),
            place=chosen(fields, "place", PLACES, Sentence("Choose where you will be.")),
            id_seen=chosen(fields, "id_seen", ("yes", "no"), Sentence("Choose Yes or No.")) == "yes",
            may_collect=line(fields, "may_collect"),
            urgent_care=fields.tick("urgent_care"),
            drawing=drawn(fields),
        )
        for tick, sentence in GUARDIAN_MUST_TICK.items():
            # Whoever signs with a parent's paper holds no rights of their own.
            if not fields.tick(tick) and (tick, words.relation) != ("rights", consents.PAPER):
                fields.wrong(tick, sentence)
        said = agreed(front, fields)
        fields.done()
        acts.sign_as_guardian(act, words, said)
        handing.hand_back(act, front.visitor.visit_id, "signed")

    return ending(front, posted, sign, again=lambda problem: _guardian_page(front, problem))


@router.get("/guest/not-today", name="not_today_page")
def not_today_page(front: Desk) -> Response:
    """Let the guest choose not to dive; no reason is asked."""
    return _not_today(front)


@router.post("/guest/not-today", name="rather_not_dive")
def rather_not_dive(front: Desk, posted: PostedForm) -> Response:
    """Store the guest's own wish."""

    def stay(act: Act) -> None:
        posted.fields().done()
        acts.rather_not_dive(act, spoken(front))
        handing.hand_back(act, front.visitor.visit_id, "own wish")

    return ending(front, posted, stay, again=lambda problem: _not_today(front, problem))


def _guardian_page(front: Front, problem: ProblemView | None = None) -> Response:
    form = own_form(front)
    if not form.minor or form.draft is not None:
        raise NotHere("no guardian is asked for")
    language = front.language
    text = language.consent(consents.GUARDIAN)
    health, rights, care = (language.show(code, said) for code, said in consents.GUARDIAN_TICKS.items())
    return front.page(
        "guest_side/guardian.html",
        text.title.words,
        form=form,
        text=text,
        health_lines=language.consent(consents.HEALTH_DATA).lines,
        health_tick=health,
        rights_tick=rights,
        care_tick=care,
        kinds=[(kind, language.say(words)) for kind, words in _kinds(form).items()],
        places=[(str(place), language.say(words)) for place, words in PLACES.items()],
        problem=problem,
        **understood_context(front),
    )


def _kinds(form: GuestForm) -> dict[str, Sentence]:
    """Return who may sign for this child, as kept and in words."""
    return consents.GUARDIAN_KINDS | (consents.PAPER_KINDS if form.paper_id is not None else {})


def _not_today(front: Front, problem: ProblemView | None = None) -> Response:
    return front.page(
        "guest_side/not_today.html",
        front.language.gettext("Not today"),
        form=own_form(front),
        problem=problem,
    )
