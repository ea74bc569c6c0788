"""What every gate answers: allowed or not, with each reason in full.

A refusal that does not say what was found, what is needed and who asks for it cannot be acted on, so
pages, prints, error texts and the trail are all made from the same `Reason`.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that stands in the way, or one thing worth knowing.

    rule: key of the limit or rule in `app.rules.limits`, used unchanged on pages and in the trail.
    text: one plain sentence of at most 20 words: what is wrong and how to put it right.
    found, needed: what is so and what the rule asks for, ready to show, without the unit.
    unit: unit of both, empty for words.
    bound_by: who set the value: "hard limit", "preset France", "shop", "site Quarry", "conditions fair",
        "guest's age 11", "guide's own cap" and the like.
    who: the person or the thing it is about; empty when it is about the whole group or the day.
    """

    rule: str
    text: str
    found: str
    needed: str
    unit: str = ""
    bound_by: str = ""
    who: str = ""


@dataclass(frozen=True, slots=True)
class Decision:
    """The answer of a gate. Reasons refuse; notes only inform."""

    reasons: tuple[Reason, ...] = ()
    notes: tuple[Reason, ...] = ()

    @property
    def allowed(self) -> bool:
        """True only when nothing at all stands in the way."""
        return not self.reasons

    @property
    def rules(self) -> frozenset[str]:
        """Keys of the rules that refuse."""
        return frozenset(reason.rule for reason in self.reasons)

    def __add__(self, other: "Decision") -> "Decision":
        """Join two answers: both sets of reasons and notes, each sentence once, in order."""
        return Decision(_once(self.reasons + other.reasons), _once(self.notes + other.notes))

    def as_notes(self) -> "Decision":
        """The same findings as notes only, for a step at which they do not yet refuse."""
        return Decision((), _once(self.reasons + self.notes))


ALLOWED = Decision()


def all_of(decisions: Iterable[Decision]) -> Decision:
    """Join any number of answers; allowed only when every one of them is."""
    joined = ALLOWED
    for decision in decisions:
        joined = joined + decision
    return joined


def refuse(*reasons: Reason) -> Decision:
    """An answer made of these reasons; with none it allows."""
    return Decision(tuple(reasons))


def note(*notes: Reason) -> Decision:
    """An answer that allows and says these things."""
    return Decision((), tuple(notes))


def _once(reasons: tuple[Reason, ...]) -> tuple[Reason, ...]:
    return tuple(dict.fromkeys(reasons))
