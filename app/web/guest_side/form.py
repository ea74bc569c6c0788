"""Guest side: the handed-over tablet, locked to one guest, from the welcome to the empty last page.

Addresses carry the place of a question, never which question it is; a keyed mark in the form ties the
answer to the question that stood on the page.
"""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.guest_side import guest_form as acts
from app.actions.guest_side import hand_over as handing
from app.records.guest_side.guest_form import GuestForm, mark_of
from app.records.guest_side.languages import words_in
from app.rules import consents
from app.rules.asking import Answer, answer_to
from app.rules.question_set import Question, hours_code
from app.rules.sentences import Sentence
from app.web.front import Desk, Front
from app.web.guest_side.visit import agreed, chosen, ending, line, own_form, spoken, understood_context
from app.web.pages import ProblemView
from app.web.posted import PostedForm

router = APIRouter()
SAYS = {"yes": Answer.YES, "no": Answer.NO, "unsure": Answer.NOT_SURE}
SAID = {
    Answer.YES: Sentence("Yes"),
    Answer.NO: Sentence("No"),
    Answer.NOT_SURE: Sentence("I am not sure"),
    Answer.YES_THEN_NO: Sentence("No (you said Yes before)"),
    Answer.YES_THEN_NO_OK: Sentence("No (you said Yes before)"),
}
_HOURS_SAID = {
    SAID[Answer.YES]: Sentence("Yes, %(hours)s h after the dive"),
    SAID[Answer.NO]: Sentence("No, %(hours)s h after the dive"),
    SAID[Answer.NOT_SURE]: Sentence("I am not sure, %(hours)s h after the dive"),
    SAID[Answer.YES_THEN_NO]: Sentence("No (you said Yes before), %(hours)s h after the dive"),
}
WELCOME, CONSENT = "/guest", "/guest/consent"
# Hours from the dive to flying or going high: three days are past every rule.
LONGEST_HOURS = 72


@router.post("/guests/{guest_id}/hand-over", name="hand_over")
def hand_over(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """End this sign-in and lock the tablet to one guest."""
    who = front.visitor

    def give(act: Act) -> str:
        posted.fields().done()
        return handing.hand_over(act, guest_id, who.visit_id, who.device_id)

    def locked(token: str) -> Response:
        front.sign_in_as(token)
        return front.to("/guest")

    again = f"/guests/{guest_id}/health"
    return front.do(posted, give, then=lambda _: "/guest", again=lambda _: front.to(again), show=locked)


@router.get("/guest", name="guest_welcome")
def guest_welcome(front: Desk) -> Response:
    """Greet the guest by call name and say what comes."""
    return _welcome(front)


@router.post("/guest/hand-back", name="hand_back")
def hand_back(front: Desk, posted: PostedForm) -> Response:
    """End the guest's visit; the tablet shows nothing any more."""

    def back(act: Act) -> None:
        posted.fields().done()
        handing.hand_back(act, front.visitor.visit_id)

    return ending(front, posted, back, again=lambda problem: _welcome(front, problem))


@router.get("/guest/done", name="guest_done")
def guest_done(front: Desk) -> Response:
    """Show nothing of anyone, in the language that the tablet spoke last."""
    language = words_in(front.session, front.request.query_params.get("in", ""))
    return front.page("guest_side/done.html", language.gettext("Give the tablet back"), language=language)


@router.get("/guest/here", name="guest_here")
def guest_here(_front: Desk) -> Response:
    """Answer a page that somebody touches: its visit goes on, as with every page asked for."""
    return Response(status_code=204)


@router.get("/guest/consent", name="health_consent_page")
def health_consent_page(front: Desk) -> Response:
    """Ask for the consent to use health answers, before the first question."""
    return _consent_page(front)


@router.post("/guest/consent", name="agree_health_data")
def agree_health_data(front: Desk, posted: PostedForm) -> Response:
    """Store the consent and begin the form."""

    def agree(act: Act) -> None:
        fields = posted.fields()
        if not fields.tick("agree"):
            fields.wrong("agree", Sentence("Choose one of the two buttons."))
        name = line(fields, "signed_name", Sentence("Enter your name."))
        said = agreed(front, fields)
        fields.done()
        acts.agree_to_health_data(act, name, said)

    return front.do(
        posted,
        agree,
        then=lambda _: "/guest/questions",
        again=lambda problem: _consent_page(front, problem),
    )


@router.post("/guest/consent/refuse", name="refuse_health_data")
def refuse_health_data(front: Desk, posted: PostedForm) -> Response:
    """Store that the guest does not agree; nothing else happens to the guest."""

    def refuse(act: Act) -> None:
        posted.fields().done()
        acts.refuse_health_data(act, spoken(front))
        handing.hand_back(act, front.visitor.visit_id)

    return ending(front, posted, refuse, again=lambda problem: _consent_page(front, problem))


@router.post("/guest/begin", name="begin_form")
def begin_form(front: Desk, posted: PostedForm) -> Response:
    """Begin a form, or answer once more."""

    def begin(act: Act) -> None:
        posted.fields().done()
        acts.begin(act)

    return front.do(
        posted, begin, then=lambda _: "/guest/questions", again=lambda problem: _welcome(front, problem)
    )


@router.get("/guest/questions", name="next_question")
def next_question(front: Desk) -> Response:
    """Lead to the first question without an answer, or to the review."""
    form = own_form(front)
    if form.draft is None:
        return front.to("/guest")
    number = form.next_number
    return front.to("/guest/review" if number is None else f"/guest/questions/{number}")


@router.get("/guest/questions/{number}", name="question")
def question(front: Desk, number: int) -> Response:
    """Show one question with its three answers."""
    return _question_page(front, number)


@router.post("/guest/questions/{number}", name="answer_question")
def answer_question(front: Desk, posted: PostedForm, number: int) -> Response:
    """Store one answer; where it led is kept alike for every answer."""

    def answer(act: Act) -> int | None:
        fields = posted.fields()
        mark = fields.text("mark", "the question")
        said = chosen(fields, "answer", SAYS, Sentence("Choose Yes, No or I am not sure."))
        hours = fields.number("hours", "Hours after the dive", 0, LONGEST_HOURS, "h", needed=False)
        if "hours" in fields.errors:
            fields.errors["hours"] = Sentence(
                "Write the hours as a number from 0 to %(most)d, for example 20.", most=LONGEST_HOURS
            )
        fields.done()
        acts.answer(act, number, mark, SAYS[said], hours, spoken(front))
        return _closer(acts.own_form(act), number)

    return front.do(
        posted,
        answer,
        then=lambda _: "/guest/questions",
        again=lambda problem: _question_page(front, number, problem),
        show=lambda closer: front.to(f"/guest/questions/{closer}" if closer else "/guest/questions"),
    )


@router.get("/guest/review", name="review_answers")
def review_answers(front: Desk) -> Response:
    """Show every answer with a way to change it, and ask for the signature under them."""
    return review_page(front)


@router.post("/guest/history-again", name="history_again")
def history_again(front: Desk, posted: PostedForm) -> Response:
    """Ask the first part once more, because something has changed."""

    def again(act: Act) -> None:
        posted.fields().done()
        acts.history_again(act)

    return front.do(
        posted, again, then=lambda _: "/guest/questions", again=lambda problem: review_page(front, problem)
    )


def _welcome(front: Front, problem: ProblemView | None = None) -> Response:
    form = own_form(front)
    return front.page(
        "guest_side/welcome.html",
        front.language.gettext("Welcome"),
        form=form,
        # Who has chosen a language has begun: the choice leads on.
        here=CONSENT if form.begins else WELCOME,
        problem=problem,
    )


def _consent_page(front: Front, problem: ProblemView | None = None) -> Response:
    form = own_form(front)
    text = front.language.consent(consents.HEALTH_DATA)
    return front.page(
        "guest_side/consent.html",
        text.title.words,
        form=form,
        text=text,
        problem=problem,
        **understood_context(front),
    )


def _question_page(front: Front, number: int, problem: ProblemView | None = None) -> Response:
    form = own_form(front)
    asks = form.asks
    if form.draft is None or not form.consented:
        return front.to("/guest")
    first_open = form.next_number or len(asks)
    if not 1 <= number <= len(asks) or (number > first_open and form.lacks(asks[number - 1])):
        return front.to("/guest/questions")
    asked = asks[number - 1]
    language = front.language
    title = language.say(_title(asks, number))
    alone = form.minor and asked.private
    if alone and problem is None and front.request.query_params.get("alone") != "1":
        return front.page("guest_side/alone.html", title, number=number)
    # Whoever reads along with a minor is not shown what was said before.
    earlier = None if alone else SAID.get(answer_to(asked, form.sheet.answers))
    return front.page(
        "guest_side/question.html",
        title,
        form=form,
        question=asked,
        shown=language.show(asked.code, asked.text),
        hours_shown=language.show(hours_code(asked), asked.hours_text) if asked.hours_text else None,
        number=number,
        earlier=language.say(earlier) if earlier else None,
        hours=form.sheet.fly_hours if asked.hours_text else None,
        mark=mark_of(front.house, form, asked),
        problem=problem,
    )


def review_page(front: Front, problem: ProblemView | None = None) -> Response:
    form = own_form(front)
    if form.draft is None or form.next_number is not None:
        return front.to("/guest/questions")
    language = front.language
    rows = [
        (number, language.show(one.code, one.text), language.say(_shown(form, one)))
        for number, one in enumerate(form.asks, 1)
        if not (form.minor and one.private and one.parent)
    ]
    kept = form.draft.history_signed_at
    return front.page(
        "guest_side/review.html",
        language.gettext("Check your answers and sign"),
        form=form,
        text=language.consent(consents.DIVE) if form.on_the_day else None,
        rows=rows,
        history_on=None if kept is None else front.shop.day_of(kept),
        problem=problem,
        **understood_context(front),
    )


def _closer(form: GuestForm, number: int) -> int | None:
    """Return the place of the follow-up to ask again after a private question of a minor; None for none.

    It is not listed on the review, so that this is the way back to it.
    """
    if not form.minor or number >= len(form.asks):
        return None
    following = form.asks[number]
    return number + 1 if following.private and following.parent else None


def _title(asks: list[Question], number: int) -> Sentence:
    """Say which question stands on a page, counted without follow-ups: how many there are says nothing."""
    tops = [one.parent is None for one in asks]
    count: dict[str, object] = {"number": sum(tops[:number]), "all": sum(tops)}
    if asks[number - 1].parent is None:
        return Sentence("Question %(number)d of %(all)d", **count)
    return Sentence("More about question %(number)d of %(all)d", **count)


def _shown(form: GuestForm, question: Question) -> Sentence:
    """Say an answer on the review. A guardian reads along with a minor: private ones stay unsaid.

    Their follow-ups are not listed at all: that they were asked says how the question was answered.
    """
    if question.private and form.minor:
        return Sentence("Answered, for you only")
    said = SAID[answer_to(question, form.sheet.answers)]
    if question.hours_text and form.sheet.fly_hours is not None:
        return _HOURS_SAID[said].with_values(hours=f"{form.sheet.fly_hours:g}")
    return said
