"""After the dive: what each guest is asked on coming out, what a yes means, and when a card may be given.

Nothing here ever refuses that somebody comes out: it is asked when everybody is ashore.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from app.rules.decision import ALLOWED, Decision, Reason, refuse
from app.rules.incidents import Draft
from app.rules.limits import AFTERCARE_NUMBERS, EXIT_CHECK_ASKED

YES, NO = "yes", "no"


@dataclass(frozen=True, slots=True)
class Question:
    """One question on coming out. A yes always means that somebody is needed."""

    code: str
    words: str


QUESTIONS = (
    Question("X-BRTH", "Any trouble with breath, chest or cough?"),
    Question("X-HEAD", "Anything odd with head, sight, balance or feeling?"),
    Question("X-EARS", "Do the ears hurt, ring or hear less?"),
    Question("X-SKIN", "A rash, sore joints, tingling, or very tired?"),
)

# What was done about a yes. Stored sealed, as the answers are.
DONE: Mapping[str, str] = MappingProxyType(
    {
        "ambulance": "The ambulance was called",
        "doctor-called": "The dive doctor was called",
        "to-doctor": "Taken to a doctor",
        "watched": "Watched, asked again, and well",
        "mistake": "Tapped by mistake, asked again: no",
    }
)

# Common first aid for suspected decompression illness: call, lie flat, oxygen (2018 pre-hospital review, from
# memory). It does not replace training.
CALL_STEPS = (
    "Call the ambulance. Say: diving accident, where you are, and who stays on the line.",
    "Lay the guest flat. With froth or hard breathing, let the guest sit up.",
    "Give as much oxygen as there is, if you are trained to. Go on until somebody takes over.",
    "Nothing to drink unless fully awake. Never back into the water. The guest does not drive.",
    "Call the dive doctor with the times below. Send this page along.",
    "Ask twice, and ask the others of the group. People often play it down.",
)


def open_questions(answers: Mapping[str, str]) -> tuple[Question, ...]:
    """Return the questions without an answer. Not asked is never a no."""
    return tuple(one for one in QUESTIONS if answers.get(one.code) not in (YES, NO))


def needs_somebody(answers: Mapping[str, str]) -> bool:
    """Return whether anything was answered with yes."""
    return any(answers.get(one.code) == YES for one in QUESTIONS)


def incident_of(answers: Mapping[str, str]) -> Draft | None:
    """Return the incident that a yes is; None without one. It never says what the yes was about."""
    if not needs_somebody(answers):
        return None
    what = "A guest answered yes when asked on coming out. What it was stands with the exit check."
    return Draft(EXIT_CHECK_ASKED.key, "injury_illness", "serious", "after", what)


def may_give_card(numbers: Mapping[str, str]) -> Decision:
    """May an aftercare card be given? Not while one of its numbers is missing. numbers: by what they are."""
    missing = [what for what, number in numbers.items() if not number.strip()]
    if not missing:
        return ALLOWED
    return refuse(
        *(
            Reason(AFTERCARE_NUMBERS.key, f"The number of {what} is missing.", "none", "a phone number")
            for what in missing
        )
    )
