"""Skills shown in shallow water, seen by a named instructor, before anybody goes to open water."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from app.rules import limits as L
from app.rules.decision import Decision, Reason, all_of, refuse
from app.rules.resolve import Limits

_CORONER = "Queensland Coroners Court, findings of 30 May 2018, recommendations"
_PRACTICE = "common practice, no source"


class Mark(StrEnum):
    """What the instructor saw. Only a shown skill counts."""

    SHOWN = "shown"
    NEEDS_WORK = "needs-work"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Skill:
    """One skill by the key used in the limit `skills_required_set`, in the guide's words, with its source."""

    key: str
    words: str
    source: str


_ROWS = (
    Skill("mask_clear", "Clear water from the mask", _CORONER),
    Skill("regulator_recover", "Take the regulator out, clear it, find it again", _CORONER),
    Skill("air_sharing", "Breathe from the guide's second regulator", _CORONER),
    Skill("inflate_at_surface", "Fill and empty the buoyancy jacket at the surface", _CORONER),
    Skill("drop_weights", "Drop the weights", _CORONER),
    Skill("equalise", "Clear the ears, early and without force", _PRACTICE),
    Skill("read_gauge", "Read the gauge and tell the figure", _PRACTICE),
    Skill("hand_signals", "Give and answer the hand signals", _PRACTICE),
)
SKILLS: Mapping[str, Skill] = MappingProxyType({skill.key: skill for skill in _ROWS})
"""Every skill by key, in the order of the water."""


@dataclass(frozen=True, slots=True)
class SkillMark:
    """One skill of one guest as seen. by: the instructor's name. on: the shop's date. Later marks win."""

    guest_id: str
    skill: str
    mark: Mark | None
    by: str | None
    on: date | None


def standing(guest_id: str, marks: Iterable[SkillMark], day: date) -> dict[str, Mark]:
    """The mark that counts for each skill of a guest today: the last one in the order given.

    A mark without a name, of another day or without a result counts as nothing; it does not bring an
    earlier one back either.
    """
    counting: dict[str, Mark] = {}
    for mark in marks:
        if mark.guest_id != guest_id:
            continue
        counting.pop(mark.skill, None)
        if mark.mark is not None and mark.by and mark.on == day:
            counting[mark.skill] = mark.mark
    return counting


def tries(marks: Iterable[tuple[str, bool]]) -> dict[str, int]:
    """Count how often each skill was tried: (skill, whether it only takes the mark before it back)."""
    counted: dict[str, int] = {}
    for skill, taken_back in marks:
        counted[skill] = max(0, counted.get(skill, 0) + (-1 if taken_back else 1))
    return counted


def may_go_open(guest_id: str, name: str, marks: Iterable[SkillMark], day: date, limits: Limits) -> Decision:
    """Has this guest shown the whole set today? Each skill that is not shown is its own reason."""
    asked = limits[L.SKILLS_REQUIRED_SET]
    if asked.names is None:
        text = "No set of skills is written down. Ask the manager to set it."
        return refuse(Reason(asked.key, text, "none", "a set of skills", "", asked.bound_by, name))
    seen = standing(guest_id, marks, day)
    return refuse(
        *(
            Reason(
                asked.key,
                _text(name, skill, seen.get(skill)),
                _found(seen.get(skill)),
                "shown",
                "",
                asked.bound_by,
                name,
            )
            for skill in asked.names
            if seen.get(skill) is not Mark.SHOWN
        )
    )


def group_may_go_open(
    guests: Mapping[str, str], marks: Iterable[SkillMark], day: date, limits: Limits
) -> Decision:
    """The same for every guest of a group. guests: id -> name."""
    seen = tuple(marks)
    return all_of(may_go_open(guest, name, seen, day, limits) for guest, name in guests.items())


def _found(mark: Mark | None) -> str:
    return "not seen today" if mark is None else mark.replace("-", " ")


def _text(name: str, key: str, mark: Mark | None) -> str:
    words = SKILLS[key].words.lower() if key in SKILLS else key.replace("_", " ")
    if mark is Mark.NEEDS_WORK:
        return f"{name} needs more practice: {words}. Stay in shallow water."
    if mark is Mark.REFUSED:
        return f"{name} did not want to: {words}. Stay in shallow water."
    return f"{name} has not shown today: {words}. Practise in shallow water."
