"""What makes a question set unusable, and the refusals that no version and no shop may loosen.

A reviewing doctor may change words, add questions and move most levels. The fixed refusals below stay at
level A at every age, because no letter and no button lifts them.
"""

import re
from collections import Counter
from collections.abc import Iterator

from app.rules.people import Where
from app.rules.question_set import WATERS, Part, Question, QuestionSet
from app.rules.screening_reasons import Computed, Level

# Refused on the day, whatever else is answered (common practice; sources stand beside each question).
FIXED_REFUSALS_HISTORY = ("LUNG.b", "HEAD.b", "SUGR.b", "MEDS.b", "MEDS.c", "OPER.c", "BABY.a")
FIXED_REFUSALS_TODAY = ("COLD.a", "SICK.a", "SICK.b", "DRNK", "WILL.a")
# Cannot swim or float: refused in open water, at least a talk where the guest can stand.
FIXED_REFUSAL_OPEN_WATER = "SWIM.a"
# Diabetes under 18 is refused (UK Diving Medical Committee: no open water under 18; ours is stricter).
FIXED_REFUSAL_MINOR = ("SUGR", "SUGR-MINOR", 18)
# Alcohol and drugs: nobody may call a Yes a slip of the finger.
FIXED_NO_SLIP = "DRNK"

_CODE = re.compile(r"[A-Z]{4}(\.[a-z])?")
_AGES = range(121)


def faults(questions: QuestionSet) -> list[str]:
    """Return one sentence for each thing wrong with the set; an empty list means that it may be used."""
    found = [f"{name} is missing" for name in ("version", "language", "review") if not _said(questions, name)]
    if not questions.questions:
        found.append("there is no question")
    counts = Counter(question.code for question in questions.questions)
    found += [f"{code}: the code is used {times} times" for code, times in counts.items() if times > 1]
    for question in questions.questions:
        found += [f"{question.code}: {fault}" for fault in _question_faults(question, questions)]
    return [*found, *_no_fly_faults(questions), *_loosened(questions)]


def _no_fly_faults(questions: QuestionSet) -> Iterator[str]:
    asking = [question for question in questions.questions if question.hours_text]
    if len(asking) != 1:
        yield f"exactly one question must ask for the hours until flying, not {len(asking)}"
    for question in asking:
        if question.part is not Part.TODAY or not _asked_at_every_age(question, questions):
            yield f"{question.code}: the hours until flying must be asked today, at every age"


def _asked_at_every_age(question: Question, questions: QuestionSet) -> bool:
    line = (question, questions.by_code.get(question.parent or ""))
    return all(one is None or one.asked_from_age is None for one in line)


def _said(holder: QuestionSet | Question, name: str) -> bool:
    return bool(str(getattr(holder, name)).strip())


def _question_faults(question: Question, questions: QuestionSet) -> Iterator[str]:
    if not _CODE.fullmatch(question.code):
        yield "the code must be four capitals, then for a follow-up a dot and a small letter"
    if question.code in tuple(Computed):
        yield "the code is taken by a reason that the program works out itself"
    yield from (f"{name} is missing" for name in ("text", "hazard", "source") if not _said(question, name))
    if not question.text.rstrip().endswith("?"):
        yield "the text must end with a question mark"
    if (question.yes is None) == (question.rest is None):
        yield "exactly one of yes and rest must be given"
    if question.yes is Level.NONE and not question.hours_text:
        yield "a Yes must have a level unless the hours until flying give it"
    yield from _family_faults(question, questions)
    for row in question.also:
        if row.code in questions.by_code or row.code in tuple(Computed):
            yield f"the further reason {row.code} is the code of something else"


def _family_faults(question: Question, questions: QuestionSet) -> Iterator[str]:
    if question.parent is None:
        has_follow_ups = bool(questions.follow_ups(question.code))
        if "." in question.code:
            yield "a code with a dot needs a parent"
        if question.rest is not None and not has_follow_ups:
            yield "rest needs follow-ups"
        if question.yes is not None and has_follow_ups:
            yield "a top question with follow-ups takes rest, not yes"
        return
    parent = questions.by_code.get(question.parent)
    if parent is None:
        yield f"its parent {question.parent} is not in the set"
    elif parent.parent is not None:
        yield f"its parent {question.parent} is a follow-up itself"
    elif parent.part is not question.part:
        yield f"its parent {question.parent} is in another part"
    if not question.code.startswith(f"{question.parent}."):
        yield f"the code of a follow-up must begin with {question.parent}."
    if question.rest is not None:
        yield "a follow-up takes yes, not rest"
    if question.also:
        yield "only a top question gives further reasons"
    if question.asked_from_age is not None:
        yield "only a top question is kept for an age"


def _loosened(questions: QuestionSet) -> Iterator[str]:
    for part, codes in ((Part.HISTORY, FIXED_REFUSALS_HISTORY), (Part.TODAY, FIXED_REFUSALS_TODAY)):
        for code in codes:
            yield from _refusal_faults(code, part, WATERS, questions)
    yield from _refusal_faults(FIXED_REFUSAL_OPEN_WATER, Part.HISTORY, ("open",), questions)
    swim = questions.by_code.get(FIXED_REFUSAL_OPEN_WATER)
    if swim is not None and any(swim.level(age, "confined") is Level.NONE for age in _AGES):
        yield f"{swim.code}: must be at least level T in confined water"
    no_slip = questions.by_code.get(FIXED_NO_SLIP)
    if no_slip is not None and not no_slip.slip_stands:
        yield f"{no_slip.code}: a Yes must stand, nobody may call it a slip"
    top_code, reason_code, adult = FIXED_REFUSAL_MINOR
    top = questions.by_code.get(top_code)
    rows = top.also if top is not None and top.asked_from_age is None else ()
    for where in WATERS:
        for age in range(adult):
            if not any(
                row.code == reason_code and row.level is Level.ASHORE and row.condition.holds(age, where)
                for row in rows
            ):
                yield f"{top_code}: {reason_code} must refuse every guest under {adult} at level A"
                return


def _refusal_faults(
    code: str, part: Part, waters: tuple[Where, ...], questions: QuestionSet
) -> Iterator[str]:
    question = questions.by_code.get(code)
    if question is None:
        yield f"{code}: a fixed refusal is missing"
        return
    if question.yes is None or any(
        question.level(age, where) is not Level.ASHORE for age in _AGES for where in waters
    ):
        yield f"{code}: a fixed refusal must stay at level A"
    # In the history part the answer would be taken as good for 30 days; in today's it is asked afresh.
    if part is Part.TODAY and question.part is not Part.TODAY:
        yield f"{code}: a fixed refusal of the day must be asked in the today part"
    if not _asked_at_every_age(question, questions):
        yield f"{code}: a fixed refusal must be asked at every age"
