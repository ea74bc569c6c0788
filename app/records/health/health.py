"""Where each guest stands on health and consent on a day, worked out for many guests at once.

Lists and gates read the outcome and its word. The reasons travel with them only for the pages of those
who may see them; no list shows them.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlmodel import Session

from app.records.guest_side.questions import own_changes, question_set
from app.records.health.health_forms import GuestForms, forms_of, open_sheet, owner
from app.records.health.health_rows import (
    consents_by_ref,
    letters_by_ref,
    looks_of_day,
    newest,
    places_of,
    talks_of_day,
)
from app.records.health.letters import LetterState, states_of
from app.records.health.retention import stubs
from app.records.setup.shop import Shop, limits_now, the_shop
from app.records.store.house import House
from app.records.store.sealing import Sealed
from app.records.tables.health import ConsentRow, HealthFormRow, LetterRow, TalkRow
from app.records.tables.house import SiteRow
from app.records.tables.parties import GuestRow, SlotRow
from app.records.tables.privacy import StageRow
from app.rules.choices import CHOICES
from app.rules.doctors_letter import Letter, Verdict, still_counts
from app.rules.health_access import OWN_CHOICE
from app.rules.limits import SLOT_LENGTH
from app.rules.people import GuardianPlace, ShoreLook, Talk
from app.rules.question_tightening import Change
from app.rules.resolve import Limits
from app.rules.screening import Outcome, ScreeningCase, age_on, screen
from app.rules.screening_policy import ScreeningPolicy, policy_in_force
from app.rules.screening_reasons import Computed, Level, ScreeningReason
from app.rules.translations import consent_stands, worst

READY = "Ready (for today)"
NOT_ASKED = "Not asked yet"
# A consent's kind: somebody of the team knows that a minor's parents disagree about the dive.
PARENTS_DISAGREE = "parents-disagree"
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
    about: keyed fingerprint of what a talk today would be about. look: the day's look on shore; None before.
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
    look: ShoreLook | None = None
    # "sealed" or "erased" once the record is not live any more: then only the word is left here.
    put_away: str = ""

    @property
    def stopped(self) -> bool:
        """Whether a named person keeps the guest ashore today, whatever the answers say."""
        return self.talk is not None and self.talk.result == "ASHORE"

    @property
    def kept_by_look(self) -> bool:
        """Whether the look on shore keeps the guest ashore."""
        return self.look is not None and not self.look.well

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
    looks: Mapping[str, ShoreLook]
    letters: Mapping[str, list[LetterRow]]
    states: Mapping[int, LetterState]
    changes: list[Change]
    places: Mapping[int, tuple[SlotRow, SiteRow]]


def standing(
    session: Session, house: House, guests: Iterable[GuestRow], day: date
) -> dict[int, HealthStanding]:
    """Return where each guest stands on ``day``, by guest number. The count of queries does not grow."""
    rows = list(guests)
    shop = the_shop(session)
    refs = [guest.ref for guest in rows]
    limits = limits_now(session)
    letters = letters_by_ref(session, refs)
    known = _Known(
        house=house,
        shop=shop,
        day=day,
        limits=limits,
        policy=policy_in_force(limits),
        forms=forms_of(session, refs, day, shop.zone),
        consents=consents_by_ref(session, refs),
        talks=talks_of_day(session, refs, day),
        looks=looks_of_day(session, refs, day),
        letters=letters,
        states=states_of(session, (row for rows in letters.values() for row in rows)),
        changes=own_changes(session),
        places=places_of(session, {guest.party_id for guest in rows}),
    )
    kept = stubs(session, refs)
    return {
        guest.id or 0: _put_away(guest, kept[guest.ref]) if guest.ref in kept else _one(guest, known)
        for guest in rows
    }


def standing_of(session: Session, house: House, guest: GuestRow, day: date) -> HealthStanding:
    """Return where one guest stands."""
    return standing(session, house, [guest], day)[guest.id or 0]


def _put_away(guest: GuestRow, kept: StageRow) -> HealthStanding:
    """Return what stays of a sealed or erased record: the word, and nothing behind it."""
    known = kept.outcome in set(Outcome)
    outcome = Outcome(kept.outcome) if known else None
    word = READY if outcome is Outcome.CLEARED else NOT_ASKED if outcome is None else outcome.desk_words
    said = None if outcome is None else str(outcome)
    return HealthStanding(guest.id or 0, said, word, SHAPES[outcome], settled=False, put_away=kept.stage)


def _one(guest: GuestRow, known: _Known) -> HealthStanding:
    # Photos and the like are asked apart, and say nothing here.
    consents = [row for row in known.consents.get(guest.ref, []) if row.kind not in CHOICES]
    forms = known.forms.get(guest.ref, GuestForms())
    guardian = _guardian(consents, known)
    found = replace(
        guardian,
        guest_id=guest.id or 0,
        talk=_talk(known.talks.get(guest.ref)),
        look=known.looks.get(guest.ref),
        about=_about(guest, known, ()),
    )
    own_wish = any(row.kind == "dive" and not row.given and _on(row, known) for row in consents)
    if own_wish:
        reasons = (ScreeningReason(OWN_CHOICE, Level.ASHORE),)
        return _weighed(found, Outcome.ASHORE, reasons, guest, known)
    disagree = newest(consents, PARENTS_DISAGREE)
    if disagree is not None and disagree.given:
        reasons = (ScreeningReason(Computed.PARENTS, Level.ASHORE),)
        return _weighed(found, Outcome.ASHORE, reasons, guest, known)
    if forms.counts is None and not consents:
        return _weighed(found, None, (), guest, known)
    health = newest(consents, "health-data")
    if forms.counts is None or health is None or not _agreed(health):
        return _weighed(found, Outcome.INCOMPLETE, (), guest, known)
    return _screened(found, guest, forms.counts, consents, known)


def _screened(
    found: HealthStanding,
    guest: GuestRow,
    form: HealthFormRow,
    consents: list[ConsentRow],
    known: _Known,
) -> HealthStanding:
    questions = question_set(form.question_version, known.changes)
    sheet = open_sheet(known.house, form)
    if questions is None or sheet is None:
        return _weighed(found, Outcome.INCOMPLETE, (), guest, known)
    dive = newest(consents, "dive")
    history_on = form.history_signed_at and form.history_signed_at.astimezone(known.shop.zone).date()
    today_on = form.today_signed_for if dive is not None and _agreed(dive) else None
    place = known.places.get(guest.party_id)
    case = ScreeningCase(
        dive_date=known.day,
        age=age_on(guest.birth_date, known.day),
        # Where nobody knows the water, the stricter one counts.
        where="confined" if place is not None and place[1].confined else "open",
        answers=sheet.answers,
        history_signed_days=None if history_on is None else (known.day - history_on).days,
        today_signed=today_on == known.day,
        language_checked=worst((form.text_status,)).relied_on,
        guardian_consent=found.guardian_covers(known.day),
        fly_hours=_fly_hours(sheet.fly_hours, guest.flight_at, place, known.limits),
        letters=_letters(guest.ref, known),
    )
    result = screen(case, questions, known.policy)
    found = replace(found, history_signed_on=history_on, today_signed_on=today_on)
    return _weighed(found, result.outcome, result.reasons, guest, known)


def _agreed(row: ConsentRow) -> bool:
    """Whether a consent was given, in words that the person could agree in."""
    return row.given and consent_stands(row.text_status, row.understood, row.interpreter)


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
    stopped = (talk is not None and talk.result == "ASHORE") or found.kept_by_look
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
    if row is None or not _agreed(row):
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


def _letters(ref: str, known: _Known) -> tuple[Letter, ...]:
    """Return the letters that count; a scan counts once a second person compared it with the record."""
    found = []
    for row in known.letters.get(ref, []):
        covers, verdict = _opened(row, known.house)
        state = known.states[row.id or 0]
        if still_counts(verdict, superseded=state.superseded, found_wrong=state.found_wrong):
            found.append(
                Letter(
                    verdict,
                    row.issued,
                    state.confirmed,
                    row.expires,
                    covers,
                    has_limits=row.limits != "",
                    reviewed=state.reviewed,
                )
            )
    return tuple(found)


def _opened(row: LetterRow, house: House) -> tuple[frozenset[str], Verdict]:
    """Return what a letter covers and its verdict; one that cannot be read keeps the guest ashore."""
    try:
        covers = frozenset(house.ring.open(owner(row.guest_ref), "covers", row.covers).split())
        return covers, Verdict(house.ring.open(owner(row.guest_ref), "verdict", row.verdict))
    except (Sealed, ValueError):
        return frozenset(), Verdict.NOT_FIT


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
