"""Where each guest stands on health and consent on a day, worked out for many guests at once.

Lists and gates read the outcome and its word. The reasons travel with them only for the pages of those
who may see them; no list shows them.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlmodel import Session

from app.records.health_forms import GuestForms, forms_of, open_sheet, owner, questions_of
from app.records.health_rows import consents_by_ref, letters_by_ref, newest, places_of, talks_of_day
from app.records.house import House
from app.records.sealing import Sealed
from app.records.shop import Shop, limits_now, the_shop
from app.records.tables.health import ConsentRow, HealthFormRow, LetterRow, TalkRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import GuestRow, SlotRow
from app.rules.doctors_letter import Letter, Verdict
from app.rules.limits import SLOT_LENGTH
from app.rules.people import GuardianPlace, Talk
from app.rules.resolve import Limits
from app.rules.screening import Outcome, ScreeningCase, age_on, screen
from app.rules.screening_policy import ScreeningPolicy, policy_in_force
from app.rules.screening_reasons import Computed, Level, ScreeningReason

READY = "Ready (for today)"
NOT_ASKED = "Not asked yet"
# The guest's own wish, whichever way it was said.
OWN_CHOICE = "WILL.a"
RESULTS = {"go": "GO", "go-with-limits": "GO-LIMIT", "ashore": "ASHORE"}
SHAPES = {
    None: "ring",
    Outcome.INCOMPLETE: "ring",
    Outcome.TALK: "triangle",
    Outcome.LETTER: "triangle",
    Outcome.ASHORE: "triangle",
    Outcome.CLEARED: "dot",
}


@dataclass(frozen=True)
class HealthStanding:
    """One guest on one day. ``reasons`` and ``screened`` are for those who may see reasons only.

    outcome: "CLEARED", "TALK", "INCOMPLETE", "LETTER", "ASHORE"; None when nothing was asked yet.
    word, shape: what every list shows. settled: cleared, or a talk about this very outcome said go today.
    screened: the outcome of the answers alone, before anybody on the team stopped the guest.
    about: keyed fingerprint of what a talk today would be about.
    """

    guest_id: int
    outcome: str | None
    word: str
    shape: str
    settled: bool
    history_signed_on: date | None = None
    today_signed_on: date | None = None
    talk: Talk | None = None
    guardian_consent_on: date | None = None
    guardian_consent_until: date | None = None
    guardian_place: GuardianPlace | None = None
    needs_more_care: bool = False
    reasons: tuple[ScreeningReason, ...] = ()
    screened: str | None = None
    about: str = ""

    @property
    def stopped(self) -> bool:
        """Whether a named person keeps the guest ashore today, whatever the answers say."""
        return self.talk is not None and self.talk.result == "ASHORE"

    def guardian_covers(self, day: date) -> bool:
        """Whether a guardian's consent is on file that covers ``day``."""
        first, last = self.guardian_consent_on, self.guardian_consent_until
        return first is not None and last is not None and first <= day <= last


@dataclass(frozen=True)
class _Known:
    """Everything read for one batch, by guest reference."""

    house: House
    shop: Shop
    day: date
    limits: Limits
    policy: ScreeningPolicy
    forms: Mapping[str, GuestForms]
    consents: Mapping[str, list[ConsentRow]]
    talks: Mapping[str, TalkRow]
    letters: Mapping[str, list[LetterRow]]
    places: Mapping[int, tuple[SlotRow, SiteRow]]


def standing(
    session: Session, house: House, guests: Iterable[GuestRow], day: date
) -> dict[int, HealthStanding]:
    """Return where each guest stands on ``day``, by guest number. The count of queries does not grow."""
    rows = list(guests)
    shop = the_shop(session)
    refs = [guest.ref for guest in rows]
    limits = limits_now(session)
    known = _Known(
        house=house,
        shop=shop,
        day=day,
        limits=limits,
        policy=policy_in_force(limits),
        forms=forms_of(session, refs, day, shop.zone),
        consents=consents_by_ref(session, refs),
        talks=talks_of_day(session, refs, day),
        letters=letters_by_ref(session, refs),
        places=places_of(session, {guest.party_id for guest in rows}),
    )
    return {guest.id or 0: _one(guest, known) for guest in rows}


def standing_of(session: Session, house: House, guest: GuestRow, day: date) -> HealthStanding:
    """Return where one guest stands."""
    return standing(session, house, [guest], day)[guest.id or 0]


def _one(guest: GuestRow, known: _Known) -> HealthStanding:
    consents = known.consents.get(guest.ref, [])
    forms = known.forms.get(guest.ref, GuestForms())
    guardian = _guardian(consents, known)
    found = replace(
        guardian,
        guest_id=guest.id or 0,
        talk=_talk(known.talks.get(guest.ref)),
        about=_about(guest, known, ()),
    )
    own_wish = any(row.kind == "dive" and not row.given and _on(row, known) for row in consents)
    if own_wish:
        reasons = (ScreeningReason(OWN_CHOICE, Level.ASHORE),)
        return _weighed(found, Outcome.ASHORE, reasons, guest, known)
    if forms.counts is None and not consents:
        return _weighed(found, None, (), guest, known)
    health = newest(consents, "health-data")
    if forms.counts is None or health is None or not health.given:
        return _weighed(found, Outcome.INCOMPLETE, (), guest, known)
    return _screened(found, guest, forms.counts, consents, known)


def _screened(
    found: HealthStanding,
    guest: GuestRow,
    form: HealthFormRow,
    consents: list[ConsentRow],
    known: _Known,
) -> HealthStanding:
    questions, sheet = questions_of(form), open_sheet(known.house, form)
    if questions is None or sheet is None:
        return _weighed(found, Outcome.INCOMPLETE, (), guest, known)
    dive = newest(consents, "dive")
    history_on = form.history_signed_at and form.history_signed_at.astimezone(known.shop.zone).date()
    today_on = form.today_signed_for if dive is not None and dive.given else None
    place = known.places.get(guest.party_id)
    case = ScreeningCase(
        dive_date=known.day,
        age=age_on(guest.birth_date, known.day),
        # Where nobody knows the water, the stricter one counts.
        where="confined" if place is not None and place[1].confined else "open",
        answers=sheet.answers,
        history_signed_days=None if history_on is None else (known.day - history_on).days,
        today_signed=today_on == known.day,
        language_checked=form.text_status in ("original", "checked"),
        guardian_consent=found.guardian_covers(known.day),
        fly_hours=_fly_hours(sheet.fly_hours, guest.flight_at, place, known.limits),
        letters=tuple(_letter(row, known.house) for row in known.letters.get(guest.ref, [])),
    )
    result = screen(case, questions, known.policy)
    found = replace(found, history_signed_on=history_on, today_signed_on=today_on)
    return _weighed(found, result.outcome, result.reasons, guest, known)


def _weighed(
    found: HealthStanding,
    screened: Outcome | None,
    reasons: tuple[ScreeningReason, ...],
    guest: GuestRow,
    known: _Known,
) -> HealthStanding:
    """Hold the day's talk against the outcome: a go counts only for what was talked about, a stop always."""
    about = _about(guest, known, reasons)
    row = known.talks.get(guest.ref)
    talk = found.talk
    if talk is not None and talk.result != "ASHORE" and (row is None or row.about != about):
        talk = None
    stopped = talk is not None and talk.result == "ASHORE"
    talked = screened is Outcome.TALK and talk is not None and not stopped
    outcome = Outcome.ASHORE if stopped else screened
    settled = not stopped and (screened is Outcome.CLEARED or talked)
    word = READY if settled else (NOT_ASKED if outcome is None else outcome.desk_words)
    limited = talk is not None and talk.result == "GO-LIMIT"
    return replace(
        found,
        outcome=None if outcome is None else str(outcome),
        word=word,
        shape="dot" if settled else SHAPES[outcome],
        settled=settled,
        talk=talk,
        needs_more_care=limited or any(reason.code == Computed.LANG for reason in reasons),
        reasons=reasons,
        screened=None if screened is None else str(screened),
        about=about,
    )


def _about(guest: GuestRow, known: _Known, reasons: tuple[ScreeningReason, ...]) -> str:
    said = json.dumps([guest.ref, known.day.isoformat(), sorted(str(reason) for reason in reasons)])
    return known.house.master.digest("talk-about", said)


def _guardian(consents: list[ConsentRow], known: _Known) -> HealthStanding:
    """Return a standing that holds only what a guardian gave."""
    empty = HealthStanding(0, None, NOT_ASKED, "ring", settled=False)
    row = newest(consents, "guardian")
    if row is None or not row.given:
        return empty
    place = next((one.guardian_place for one in reversed(consents) if one.guardian_place), "")
    return replace(
        empty,
        guardian_consent_on=row.at.astimezone(known.shop.zone).date(),
        guardian_consent_until=row.valid_until,
        guardian_place=GuardianPlace(place) if place in set(GuardianPlace) else None,
    )


def _talk(row: TalkRow | None) -> Talk | None:
    if row is None:
        return None
    # A word that is no decision keeps the guest ashore.
    result = RESULTS.get(row.decision, "ASHORE")
    return Talk(result, row.by, row.day, row.depth_cap_m, row.max_guests, row.confined_only)


def _letter(row: LetterRow, house: House) -> Letter:
    try:
        covers = frozenset(house.ring.open(owner(row.guest_ref), "covers", row.covers).split())
        verdict = Verdict(house.ring.open(owner(row.guest_ref), "verdict", row.verdict))
    except (Sealed, ValueError):
        # A letter that cannot be read lifts nothing and keeps the guest ashore.
        covers, verdict = frozenset(), Verdict.NOT_FIT
    return Letter(verdict, row.issued, row.has_scan, row.expires, covers, has_limits=row.limits != "")


def _fly_hours(
    said: float | None, flight_at: datetime | None, place: tuple[SlotRow, SiteRow] | None, limits: Limits
) -> float | None:
    """Return the shorter of what the guest said and what the booked flight leaves after the slot."""
    minutes = limits[SLOT_LENGTH].number
    if flight_at is None or place is None or minutes is None:
        return said
    surfaced = place[0].starts_at + timedelta(minutes=minutes)
    booked = (flight_at - surfaced).total_seconds() / 3600
    return booked if said is None else min(said, booked)


def _on(row: ConsentRow, known: _Known) -> bool:
    return row.at.astimezone(known.shop.zone).date() == known.day
