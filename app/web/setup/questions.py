"""Set-up of the health questions: what ships, and where the shop asks for more."""

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.setup import questions as acts
from app.records.guest_side.questions import history, own_changes, questions_now
from app.records.store.problems import NotHere
from app.rules.question_set import Part, Question
from app.rules.question_tightening import LEVELS, in_force, may_raise
from app.rules.reason_words import LEVEL_WORDS
from app.rules.screening_reasons import Level
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm
from app.web.setup.shop import asks_again, confirm

router = APIRouter()
CHOICES = {str(level): LEVEL_WORDS[level] for level in LEVELS}
PARTS = {str(Part.HISTORY): "With the history, good for 30 days", str(Part.TODAY): "On the day of the dive"}
WORDS_MOST = 200


@router.get("/setup/questions", name="questions_page")
def questions_page(front: Desk) -> Response:
    """Show every health question and what a Yes weighs."""
    return _questions_page(front)


@router.post("/setup/questions", name="add_question")
def add_question(front: Desk, posted: PostedForm) -> Response:
    """Ask one more question."""

    def add(act: Act) -> None:
        fields = posted.fields()
        part = fields.choice("part", "when it is asked", PARTS)
        text = fields.text("text", "the question as the guest reads it", most=WORDS_MOST)
        hazard = fields.text("hazard", "what it looks for", most=WORDS_MOST)
        level = fields.choice("level", "what a Yes means", CHOICES)
        reason = fields.text("reason", "why it is asked", most=WORDS_MOST)
        confirm(front, act, fields)
        fields.done()
        acts.add_question(act, Part(part), text, hazard, Level(level), reason)

    return front.do(
        posted, add, then=lambda _: "/setup/questions", again=lambda problem: _questions_page(front, problem)
    )


@router.get("/setup/questions/{code}", name="question_page")
def question_page(front: Desk, code: str) -> Response:
    """Show one question with a form to make it stricter."""
    return _question_page(front, code)


@router.post("/setup/questions/{code}", name="raise_question")
def raise_question(front: Desk, posted: PostedForm, code: str) -> Response:
    """Let a Yes weigh more."""
    _question(front, code)

    def change(act: Act) -> None:
        fields = posted.fields()
        level = fields.choice("level", "what a Yes means", CHOICES)
        reason = fields.text("reason", "why it changes", most=WORDS_MOST)
        confirm(front, act, fields)
        fields.done()
        acts.raise_level(act, code, Level(level), reason)

    return front.do(
        posted,
        change,
        then=lambda _: f"/setup/questions#{code}",
        again=lambda problem: _question_page(front, code, problem),
    )


@router.post("/setup/questions/{code}/as-shipped", name="end_own_question")
def end_own_question(front: Desk, posted: PostedForm, code: str) -> Response:
    """Let what ships hold again for one question."""
    _question(front, code)

    def change(act: Act) -> None:
        fields = posted.fields()
        reason = fields.text("reason", "why it changes", most=WORDS_MOST)
        confirm(front, act, fields)
        fields.done()
        acts.end_own(act, code, reason)

    return front.do(
        posted,
        change,
        then=lambda _: "/setup/questions",
        again=lambda problem: _question_page(front, code, problem),
    )


def level_said(question: Question) -> str:
    """Say what a Yes weighs, with where it weighs more or less."""
    usual = question.yes if question.yes is not None else question.rest or Level.NONE
    said = [LEVEL_WORDS[usual] if question.hours_text is None else "By the hours until flying"]
    for row in question.when:
        facts = []
        if row.condition.under_age is not None:
            facts.append(f"under {row.condition.under_age}")
        if row.condition.from_age is not None:
            facts.append(f"from age {row.condition.from_age}")
        if row.condition.where is not None:
            facts.append("in open water" if row.condition.where == "open" else "in the pool")
        said.append(f"{' '.join(facts)}: {LEVEL_WORDS[row.level].lower()}")
    return "; ".join(said)


def _question(front: Front, code: str) -> Question:
    found = questions_now(front.session).by_code.get(code)
    if found is None:
        raise NotHere(f"question {code}")
    return found


def _questions_page(front: Front, problem: ProblemView | None = None) -> Response:
    questions = questions_now(front.session)
    own = in_force(own_changes(front.session))
    return front.page(
        "setup/questions.html",
        "Health questions",
        problem=problem,
        questions=questions,
        rows=[(one, level_said(one), own.get(one.code)) for one in questions.questions],
        choices=list(CHOICES.items()),
        parts=list(PARTS.items()),
        history=history(front.session),
        day_of=front.shop.day_of,
        asks_again=asks_again(front),
    )


def _question_page(front: Front, code: str, problem: ProblemView | None = None) -> Response:
    question = _question(front, code)
    stricter = [(str(level), LEVEL_WORDS[level]) for level in LEVELS if may_raise(question, level)]
    return front.page(
        "setup/question.html",
        f"Health question {code}",
        problem=problem,
        question=question,
        said=level_said(question),
        stricter=stricter,
        own=in_force(own_changes(front.session)).get(code),
        asks_again=asks_again(front),
    )
