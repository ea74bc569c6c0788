"""What a doctor's letter may change: it turns the L reasons it covers into a talk, and never lifts an A."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from app.rules.screening_reasons import Computed, Level, ReasonBook, ScreeningReason

# A letter holds at most this long after its issue date, last day included (common practice, no source).
LETTER_VALID_DAYS = 365
# A fit sooner than this after a not-fit needs two named people to review it (common practice, no source).
FIT_AFTER_NOT_FIT_DAYS = 365


class Verdict(StrEnum):
    """The doctor's word."""

    FIT = "fit"
    NOT_FIT = "notfit"


@dataclass(frozen=True, slots=True)
class Letter:
    """One letter as recorded; letters are never edited, and superseded ones are not handed in.

    ``has_scan``: its scan is on file, and a second named person said that the record says the same.
    ``expires`` is the doctor's own date, if any, last day included. ``covers`` are the reason codes that the
    doctor saw. ``reviewed`` means that keeper and lead have both reviewed a fit that follows a not-fit.
    """

    verdict: Verdict
    issued: date
    has_scan: bool
    expires: date | None = None
    covers: frozenset[str] = frozenset()
    has_limits: bool = False
    reviewed: bool = False

    def expired_on(self, day: date) -> bool:
        """Return whether ``day`` is after the doctor's date or 365 days after issue, whichever is first."""
        return (self.expires is not None and day > self.expires) or (
            day - self.issued
        ).days > LETTER_VALID_DAYS

    def faults_on(self, day: date) -> list[Computed]:
        """Return what keeps this letter from lifting anything on ``day``."""
        checks = (
            (not self.has_scan, Computed.LTR_NOSCAN),
            (self.issued > day, Computed.LTR_DATE),
            (self.expired_on(day), Computed.LTR_EXPIRED),
        )
        return [code for wrong, code in checks if wrong]


def still_counts(verdict: Verdict, *, superseded: bool, found_wrong: bool) -> bool:
    """Return whether a recorded letter is handed in: a not-fit gives way only where its record was wrong.

    found_wrong: the second person said that the record does not say what the scan says.
    """
    return not superseded or (verdict is Verdict.NOT_FIT and not found_wrong)


def with_letters(
    reasons: tuple[ScreeningReason, ...], letters: Sequence[Letter], day: date
) -> tuple[ScreeningReason, ...]:
    """Return the reasons after every letter has been weighed on the day of the dive.

    A covered L becomes T, never nothing. Faults of letters are named only while an L is left uncovered.
    Limits and a standing not-fit always count.
    """
    not_fit = [letter for letter in letters if letter.verdict is Verdict.NOT_FIT]
    standing = [letter for letter in letters if _stands(letter, not_fit, day)]
    covered = frozenset[str]().union(*(letter.covers for letter in standing))
    book = ReasonBook(tuple(_after_cover(reason, covered) for reason in reasons))
    if any(reason.level is Level.LETTER for reason in book.reasons()):
        for letter in letters:
            for fault in letter.faults_on(day):
                book.add(fault, Level.LETTER)
    if any(letter.has_limits for letter in letters):
        book.add(Computed.LTR_LIMITS, Level.TALK)
    if not_fit and not standing:
        book.add(Computed.LTR_NOTFIT, Level.ASHORE)
    return book.reasons()


def _after_cover(reason: ScreeningReason, covered: frozenset[str]) -> ScreeningReason:
    if reason.level is Level.LETTER and reason.code in covered:
        return ScreeningReason(reason.code, Level.TALK)
    return reason


def _stands(letter: Letter, not_fit: Sequence[Letter], day: date) -> bool:
    """Return whether a fit letter holds on ``day`` and no not-fit speaks against it."""
    if letter.verdict is not Verdict.FIT or letter.faults_on(day):
        return False
    return all(_overrules(letter, refusal) for refusal in not_fit)


def _overrules(fit: Letter, refusal: Letter) -> bool:
    days_later = (fit.issued - refusal.issued).days
    return days_later > 0 and (fit.reviewed or days_later > FIT_AFTER_NOT_FIT_DAYS)
