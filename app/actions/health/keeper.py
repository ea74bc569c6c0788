"""The keeper's own work: looking the log of looks through, breaches, and how long records are kept."""

from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import func, select

from app.actions.act import Act, Invalid
from app.records.health.health_reads import ANSWERS
from app.records.store.problems import NotHere
from app.records.tables.health import HealthReadRow
from app.records.tables.people import DeviceRow, PersonRow
from app.records.tables.privacy import BreachRow, BreachStepRow, KeepingRuleRow, LookReviewRow
from app.rules.retention import COUNTRIES, too_short

FOUND = {"in order": "Everything is in order", "asked about it": "I asked about something"}
KINDS = {
    "device": "A device is lost or was stolen",
    "person": "Somebody opened what was not theirs",
    "paper": "A paper or a print is lost",
    "other": "Something else",
}
STEPS = {
    "authority told": "The authority was told",
    "authority not told": "The authority is not told: the risk is unlikely",
    "people told": "The people were told",
    "people not told": "The people are not told: the risk is not high",
    "done": "Something was done about it",
    "closed": "Nothing is left to do",
}


@dataclass(frozen=True)
class BreachWords:
    """What somebody says of a breach. known_at: when somebody here first knew."""

    kind: str
    what: str
    known_at: datetime
    device_id: int | None = None
    person_id: int | None = None
    from_at: datetime | None = None
    to_at: datetime | None = None


def review_looks(act: Act, up_to_id: int, found: str, note: str) -> LookReviewRow:
    """Store that the keeper looked the log through up to the look that was shown last."""
    newest = act.session.exec(select(func.max(HealthReadRow.id))).one() or 0
    if up_to_id > newest:
        raise NotHere("no such look")
    _needs_note(found, note)
    return _review(act, found, note, up_to_id=up_to_id)


def review_emergency(act: Act, look_id: int, found: str, note: str) -> LookReviewRow:
    """Store that an emergency look was reviewed, by somebody other than who looked."""
    look = act.get(HealthReadRow, look_id)
    if look.kind != ANSWERS:
        raise NotHere("no emergency look")
    if look.person_id == act.actor.person_id:
        raise Invalid({"found": "You made this look yourself. Another keeper reviews it."})
    _needs_note(found, note)
    return _review(act, found, note, look_id=look_id)


def write_breach(act: Act, words: BreachWords) -> BreachRow:
    """Write a breach down; raises Invalid or NotHere."""
    errors = {}
    if words.known_at > act.now:
        errors["known_clock"] = "This lies ahead. Write when somebody here first knew."
    if words.from_at is not None and words.to_at is not None and words.to_at < words.from_at:
        errors["to_clock"] = "The end lies before the beginning."
    if errors:
        raise Invalid(errors)
    for kind, number in ((DeviceRow, words.device_id), (PersonRow, words.person_id)):
        if number is not None:
            act.get(kind, number)
    return act.add(
        BreachRow(
            kind=words.kind, what=words.what, known_at=words.known_at, device_id=words.device_id,
            person_id=words.person_id, from_at=words.from_at, to_at=words.to_at,
            by_id=act.actor.person_id or 0, by=act.actor.name, at=act.now,
        )
    )  # fmt: skip


def add_breach_step(act: Act, breach_id: int, step: str, words: str) -> BreachStepRow:
    """Add what was done about a breach, or told to whom; raises Invalid while it cannot be closed."""
    act.get(BreachRow, breach_id)
    said = set(act.session.exec(select(BreachStepRow.step).where(BreachStepRow.breach_id == breach_id)))
    for whom in ("authority", "people"):
        if step == "closed" and not said & {f"{whom} told", f"{whom} not told"}:
            raise Invalid({"step": f"Write first whether the {whom} had to be told, and why or why not."})
    return act.add(
        BreachStepRow(
            breach_id=breach_id,
            step=step,
            words=words,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )


def set_keeping(
    act: Act, country: str, adult_months: int, minor_age: int, minor_months: int, reason: str
) -> KeepingRuleRow:
    """Set how long sealed records are kept; raises Invalid for less than the country's floor."""
    start = COUNTRIES[country]
    wanted = replace(start, adult_months=adult_months, minor_age=minor_age, minor_months=minor_months)
    if sentence := too_short(wanted):
        raise Invalid({"adult_months": sentence})
    act.reason = reason
    return act.add(
        KeepingRuleRow(
            country=country,
            adult_months=adult_months,
            minor_age=minor_age,
            minor_months=minor_months,
            source=start.source if wanted == start else f"the shop's own; started from: {start.source}",
            reason=reason,
            set_by=act.actor.name,
            at=act.now,
        )
    )


def _needs_note(found: str, note: str) -> None:
    if found != next(iter(FOUND)) and not note:
        raise Invalid({"note": "Write what you asked and what was said."})


def _review(
    act: Act, found: str, note: str, *, up_to_id: int | None = None, look_id: int | None = None
) -> LookReviewRow:
    return act.add(
        LookReviewRow(
            up_to_id=up_to_id,
            look_id=look_id,
            found=found,
            note=note,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )
