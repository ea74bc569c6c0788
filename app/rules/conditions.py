"""How good the open water is today: the worst of what was measured and what the instructor says.

A reading nobody took leaves the water ungraded, and ungraded water is not dived. Pool-like water needs
no grade. Bands: our own cautious choice, in `app.rules.limits`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import IntEnum
from types import MappingProxyType

from app.rules import limits as L
from app.rules.decision import Decision, Reason, all_of, note, refuse
from app.rules.limits import Value
from app.rules.measure import must
from app.rules.resolve import Kind, Limits, Source


class Grade(IntEnum):
    """The day's water, best first, so that the worst is the largest."""

    GOOD = 0
    FAIR = 1
    POOR = 2
    NO_GO = 3

    @property
    def word(self) -> str:
        """As shown and said: good, fair, poor, no-go."""
        return self.name.lower().replace("_", "-")


SEA_WORDS: Mapping[str, Grade] = MappingProxyType(
    {"calm": Grade.GOOD, "slight": Grade.FAIR, "choppy": Grade.POOR, "rough": Grade.NO_GO}
)
"""The surface in one word, and the best grade it leaves. Source: our own cautious choice."""
WIND_WORDS = ("calm", "light", "fresh", "strong")
"""The wind in one word. It is written down and grades nothing: what it does to the water, the sea says."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What one named instructor found at the site. None: not measured, not said.

    visibility_m: metres. current_m_s: metres per second. sea: a key of `SEA_WORDS`.
    stated: the instructor's own grade, which can only make the result worse.
    """

    visibility_m: float | None = None
    current_m_s: float | None = None
    sea: str | None = None
    stated: Grade | None = None
    assessed_by: str | None = None
    assessed_on: date | None = None


def grade_of(conditions: Conditions | None, limits: Limits) -> Grade | None:
    """The worst of all readings and the stated grade; None while anything is missing."""
    if conditions is None:
        return None
    grades = (
        _visibility_grade(conditions.visibility_m, limits),
        _current_grade(conditions.current_m_s, limits),
        SEA_WORDS.get(conditions.sea) if conditions.sea is not None else None,
        conditions.stated,
    )
    known = [grade for grade in grades if grade is not None]
    return max(known) if len(known) == len(grades) else None


def source_of(grade: Grade | None) -> Source:
    """What the grade itself asks for. An unset grade leaves no open-water ratio at all."""
    values: dict[str, Value | None] = {}
    if grade is not Grade.GOOD:
        values[L.ASSISTANT_BONUS.key] = 0
    if grade is None or grade >= Grade.POOR:
        values[L.LINKED_ARMS_REQUIRED.key] = True
    if grade is None:
        values |= dict.fromkeys(
            (L.RATIO_OPEN_WATER_GOOD.key, L.RATIO_OPEN_WATER_FAIR.key, L.RATIO_OPEN_WATER_POOR.key)
        )
    return Source(
        Kind.CONDITIONS, "conditions not graded" if grade is None else f"conditions {grade.word}", values
    )


def may_dive_open(conditions: Conditions | None, limits: Limits, day: date) -> Decision:
    """May open water be dived on `day`? Each missing reading is its own reason; poor water is a note."""
    seen = conditions or Conditions()
    missing = [
        _ungraded(what)
        for what, value in (
            ("the visibility", seen.visibility_m),
            ("the current", seen.current_m_s),
            ("the sea", seen.sea if seen.sea in SEA_WORDS else None),
            ("your own grade", seen.stated),
        )
        if value is None
    ]
    named = must(
        L.CONDITIONS_GRADED,
        bool(seen.assessed_by),
        "Nobody is named for the site check. Enter who looked at the water.",
        found="no name",
        needed="a named instructor",
    )
    same_day = must(
        L.CONDITIONS_GRADED,
        seen.assessed_on == day,
        "The site was not checked today. Look at the water and grade it.",
        found="not known" if seen.assessed_on is None else seen.assessed_on.isoformat(),
        needed=day.isoformat(),
    )
    return all_of((refuse(*missing), named, same_day, _by_grade(grade_of(conditions, limits), limits)))


def _by_grade(grade: Grade | None, limits: Limits) -> Decision:
    key = L.CONDITIONS_GRADED.key
    if grade is Grade.NO_GO:
        text = "The water is no-go today. Choose another site or another day."
        return refuse(Reason(key, text, grade.word, "good, fair or poor", "", "conditions no-go"))
    if grade is Grade.POOR and limits[L.LINKED_ARMS_REQUIRED].required:
        text = "The water is poor. The guide and the guests link arms."
        return note(
            Reason(L.LINKED_ARMS_REQUIRED.key, text, grade.word, "arms linked", "", "conditions poor")
        )
    return Decision()


def _ungraded(what: str) -> Reason:
    text = f"Nobody entered {what}. Look at the water and enter it."
    return Reason(L.CONDITIONS_GRADED.key, text, "not known", what, "", "hard limit")


def _visibility_grade(metres: float | None, limits: Limits) -> Grade | None:
    no_go = limits[L.VISIBILITY_NOGO_BELOW].number
    poor = limits[L.VISIBILITY_POOR_BELOW].number
    fair = limits[L.VISIBILITY_FAIR_BELOW].number
    if metres is None or no_go is None or poor is None or fair is None:
        return None
    if metres < no_go:
        return Grade.NO_GO
    if metres < poor:
        return Grade.POOR
    return Grade.FAIR if metres < fair else Grade.GOOD


def _current_grade(metres_per_second: float | None, limits: Limits) -> Grade | None:
    no_go = limits[L.CURRENT_NOGO_ABOVE].number
    poor = limits[L.CURRENT_POOR_ABOVE].number
    if metres_per_second is None or no_go is None or poor is None:
        return None
    if metres_per_second > no_go:
        return Grade.NO_GO
    return Grade.POOR if metres_per_second > poor else Grade.GOOD
