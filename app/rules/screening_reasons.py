"""Levels and reasons of a health screening: the small vocabulary that every part of it shares."""

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How much one answer or fact holds a guest back; the letter is the one written in results."""

    NONE = "none"
    TALK = "T"
    INCOMPLETE = "I"
    LETTER = "L"
    ASHORE = "A"

    @property
    def rank(self) -> int:
        """0 for nothing up to 4 for staying ashore: A is worse than L, then I, then T, then none."""
        return _ORDER.index(self)


_ORDER = (Level.NONE, Level.TALK, Level.INCOMPLETE, Level.LETTER, Level.ASHORE)


class Computed(StrEnum):
    """Reason codes that come from facts about the guest, the form or a letter, not from one question."""

    AGE_MIN = "AGE-MIN"
    AGE_CHILD = "AGE-CHILD"
    AGE_65 = "AGE-65"
    GUARD = "GUARD"
    PARENTS = "PARENTS"
    FLY = "FLY"
    LANG = "LANG"
    HIST_STALE = "HIST-STALE"
    TODAY_STALE = "TODAY-STALE"
    FLIP = "FLIP"
    LTR_NOSCAN = "LTR-NOSCAN"
    LTR_DATE = "LTR-DATE"
    LTR_EXPIRED = "LTR-EXPIRED"
    LTR_LIMITS = "LTR-LIMITS"
    LTR_NOTFIT = "LTR-NOTFIT"


@dataclass(frozen=True, slots=True)
class ScreeningReason:
    """Why a guest is held: a question's code or a computed one, with its level after any letter."""

    code: str
    level: Level

    def __str__(self) -> str:
        """Return the form used in results and vectors, such as ``LUNG.c/L``."""
        return f"{self.code}/{self.level}"


class ReasonBook:
    """Reasons gathered while a case is read; one code keeps its worst level, ``none`` is not a reason."""

    def __init__(self, reasons: tuple[ScreeningReason, ...] = ()) -> None:
        self._worst: dict[str, Level] = {}
        for reason in reasons:
            self.add(reason.code, reason.level)

    def add(self, code: str, level: Level) -> None:
        """Keep ``code`` at ``level``, unless it already stands at a worse one."""
        known = self._worst.get(code, Level.NONE)
        if level.rank > known.rank:
            self._worst[code] = level

    def __contains__(self, code: str) -> bool:
        return code in self._worst

    def worst(self) -> Level:
        """Return the worst level in the book, ``none`` when it is empty."""
        return max(self._worst.values(), key=lambda level: level.rank, default=Level.NONE)

    def reasons(self) -> tuple[ScreeningReason, ...]:
        """Return every reason, worst level first, then by code in plain ASCII order."""
        by_code = [ScreeningReason(code, level) for code, level in self._worst.items()]
        return tuple(sorted(by_code, key=lambda reason: (-reason.level.rank, reason.code)))
