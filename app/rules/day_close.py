"""May the manager close the day? Not while anything or anybody is still out, open or unread."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.rules import limits as L
from app.rules.decision import Decision, Reason, all_of, note, refuse
from app.rules.limits import Limit

# A sentence with more names than this is not read.
MOST_NAMED = 6


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


@dataclass(frozen=True, slots=True)
class DayWarnings:
    """What is worth a look before signing, by name or label; none of it keeps the day open.

    not_asked: guests nobody asked on coming out. gas_missing: store -> litres that nothing explains.
    empty: cylinders to fill. wet: pieces of kit to rinse. follow_ups: due and not done. backups: what the
    manager is told of them, in whole sentences.
    """

    not_asked: tuple[str, ...]
    gas_missing: tuple[tuple[str, float], ...]
    empty: tuple[str, ...]
    wet: tuple[str, ...]
    follow_ups: tuple[str, ...]
    backups: tuple[str, ...] = ()


def worth_a_look(day: DayWarnings) -> Decision:
    """What the manager is told before signing: notes only, one for each kind, the names in one sentence."""
    litres = ", ".join(f"{name} {lost:.0f} L" for name, lost in day.gas_missing)
    told = (
        (L.EXIT_CHECK_ASKED, day.not_asked, "Not asked how they are on coming out: {}."),
        (L.GAUGE_AGREES_WITH_FILL, day.gas_missing, f"Gas is missing and nothing explains it: {litres}."),
        (L.CYLINDER_EMPTY_BELOW, day.empty, "Cylinders to fill: {}."),
        (L.KIT_RINSED, day.wet, "Not rinsed yet: {}."),
        (L.INCIDENT_FOLLOWED_UP, day.follow_ups, "Follow-ups are due: {}."),
        *((L.RECORDS_COPIED, (one,), one) for one in day.backups),
    )
    return note(
        *(
            Reason(rule.key, text.replace("{}", _names(found)), str(len(found)), "none")
            for rule, found, text in told
            if found
        )
    )


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


def _names(found: Sequence[object]) -> str:
    """Say the first few by name and the others as a number."""
    said = [str(one) for one in found[:MOST_NAMED]]
    more = len(found) - len(said)
    return ", ".join(said) + (f" and {more} more" if more else "")


def _open(rule: Limit, things: tuple[str, ...] | None, unknown: str, text: str) -> Decision:
    if things is None:
        sentence = f"Nobody looked up {unknown}. Open the page again."
        return refuse(Reason(rule.key, sentence, "not known", "none", "", "hard limit"))
    return refuse(
        *(
            Reason(rule.key, text.replace("{}", thing.rstrip(".")), thing, "none", "", "hard limit", thing)
            for thing in things
        )
    )
