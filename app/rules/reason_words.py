"""What a reason means, in words for the instructor and the keeper; never shown on a list."""

from dataclasses import dataclass

from app.rules.question_set import QuestionSet
from app.rules.screening_reasons import Computed, Level, ScreeningReason

COMPUTED_WORDS = {
    Computed.AGE_MIN: "Under the age for this water.",
    Computed.AGE_CHILD: "A child: the wish must be the child's own. More cold, harder ears.",
    Computed.AGE_65: "65 or older: ask about heart, breath and strength today.",
    Computed.GUARD: "No guardian's consent for this day.",
    Computed.PARENTS: "The parents are known to disagree about the dive.",
    Computed.FLY: "Flying or going high too soon after the dive, or hours not known.",
    Computed.LANG: "The words shown were not a checked translation.",
    Computed.HIST_STALE: "The history part is not signed, or too old.",
    Computed.TODAY_STALE: "Today's part is not signed today.",
    Computed.FLIP: "A Yes became a No and was recorded as an honest slip. Ask once more.",
    Computed.LTR_NOSCAN: "There is no scan of the letter, or no second person has compared it.",
    Computed.LTR_DATE: "The letter is dated after the dive day.",
    Computed.LTR_EXPIRED: "The letter has expired.",
    Computed.LTR_LIMITS: "The doctor's letter sets limits. Read them with the guest.",
    Computed.LTR_NOTFIT: "A doctor wrote: not fit to dive.",
}
LEVEL_WORDS = {
    Level.ASHORE: "Stays ashore today",
    Level.LETTER: "Doctor's letter needed",
    Level.INCOMPLETE: "Not finished",
    Level.TALK: "Talk first",
    Level.NONE: "Nothing to settle",
}


@dataclass(frozen=True, slots=True)
class ReasonLine:
    """One reason as its reader sees it."""

    code: str
    level: str
    looks_for: str


def reason_lines(reasons: tuple[ScreeningReason, ...], questions: QuestionSet) -> list[ReasonLine]:
    """Return each reason with its level in words and what its question looks for."""
    return [ReasonLine(one.code, LEVEL_WORDS[one.level], _looks_for(one.code, questions)) for one in reasons]


def _looks_for(code: str, questions: QuestionSet) -> str:
    if code in questions.by_code:
        return questions.by_code[code].hazard
    if code in set(Computed):
        return COMPUTED_WORDS[Computed(code)]
    top = next((one for one in questions.top_questions if any(row.code == code for row in one.also)), None)
    return "An answer that this version of the questions does not know." if top is None else top.hazard
