"""May the manager close the day? Not while anything or anybody is still out, open or unread."""

from dataclasses import dataclass

from app.rules import limits as L
from app.rules.decision import Decision, Reason, all_of, refuse
from app.rules.limits import Limit


@dataclass(frozen=True, slots=True)
class DayFacts:
    """What is still open on the day, by name or label, for the sentences. None: not looked up."""

    not_back: tuple[str, ...] | None
    open_counts: tuple[str, ...] | None
    open_missing: tuple[str, ...] | None
    open_dives: tuple[str, ...] | None
    cylinders_out: tuple[str, ...] | None
    kit_out: tuple[str, ...] | None
    unread_serious_incidents: tuple[str, ...] | None
    unverified_entries: tuple[str, ...] | None


def may_close_day(day: DayFacts) -> Decision:
    """May the day be closed? Each person, thing and entry still open is a reason of its own."""
    rows: tuple[tuple[Limit, tuple[str, ...] | None, str, str], ...] = (
        (
            L.ROLL_CALL_BY_NAME,
            day.not_back,
            "who is in the water",
            "{} is not back. Find {} and mark the return.",
        ),
        (
            L.COUNTS_AGREE,
            day.open_counts,
            "whether the counts agree",
            "The count of {} does not agree. Count again.",
        ),
        (
            L.MISSING_SETTLED,
            day.open_missing,
            "whether anyone is missing",
            "{} is missing. Enter where {} was found.",
        ),
        (L.DIVE_CLOSED, day.open_dives, "which dives are open", "{} is not closed. Close the dive."),
        (
            L.CYLINDERS_RETURNED,
            day.cylinders_out,
            "which cylinders are out",
            "Cylinder {} is not back. Take it back.",
        ),
        (L.KIT_RETURNED, day.kit_out, "which kit is out", "Kit {} is not back. Take it back."),
        (
            L.SERIOUS_INCIDENT_READ,
            day.unread_serious_incidents,
            "which incidents are unread",
            "A serious incident is unread: {}. Read it and sign.",
        ),
        (
            L.LOG_ENTRIES_VERIFIED,
            day.unverified_entries,
            "which entries are verified",
            "The dive entry of {} is not verified. Verify it.",
        ),
    )
    return all_of(_open(rule, things, unknown, text) for rule, things, unknown, text in rows)


def _open(rule: Limit, things: tuple[str, ...] | None, unknown: str, text: str) -> Decision:
    if things is None:
        sentence = f"Nobody looked up {unknown}. Open the page again."
        return refuse(Reason(rule.key, sentence, "not known", "none", "", "hard limit"))
    return refuse(
        *(
            Reason(rule.key, text.replace("{}", thing), thing, "none", "", "hard limit", thing)
            for thing in things
        )
    )
