"""May the manager close an incident? Once it is read, followed up, and the authority is answered for."""

from dataclasses import dataclass

from app.rules import limits as L
from app.rules.decision import Decision, Reason, all_of, refuse
from app.rules.measure import must
from app.rules.notifying import is_asked


@dataclass(frozen=True, slots=True)
class CloseFacts:
    """An incident as it stands. notifiable: "yes", "no", "not sure" or "" while nobody answered.

    authority_told: whether a call to it is written down. open_tasks: follow-ups that are not done.
    """

    severity: str
    is_read: bool
    notifiable: str
    authority_told: bool
    open_tasks: tuple[str, ...]


def may_close_incident(facts: CloseFacts) -> Decision:
    """May it be closed? Everything still open is a reason of its own."""
    return all_of(
        (
            must(
                L.INCIDENT_FOLLOWED_UP,
                facts.is_read,
                "Nobody of the managers has read this. Read it and sign first.",
                found="not read",
                needed="read",
            ),
            refuse(*(_open(what) for what in facts.open_tasks)),
            _authority(facts),
        )
    )


def _open(what: str) -> Reason:
    text = f"A follow-up is open: {what}. Finish it first."
    return Reason(L.INCIDENT_FOLLOWED_UP.key, text, "open", "done", "", "hard limit")


def _authority(facts: CloseFacts) -> Decision:
    answered = not is_asked(facts.severity, facts.notifiable)
    if facts.notifiable == "yes":
        return must(
            L.AUTHORITY_ANSWERED,
            facts.authority_told,
            "The authority has to be told. Write down when it was called.",
            found="not written down",
            needed="a time",
        )
    return must(
        L.AUTHORITY_ANSWERED,
        answered,
        "Say whether an authority has to be told.",
        found=facts.notifiable or "not answered",
        needed="yes or no",
    )
