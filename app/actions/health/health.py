"""What the team does about a guest's health check: look, talk, stop, record an honest slip.

Nobody answers for a guest, and no act here turns a missing answer, a letter needed or a day ashore into
a clearance. The trail says that something was done; what it was about stays sealed.
"""

from dataclasses import dataclass
from datetime import date

from app.actions.act import Act, Invalid
from app.actions.health.secrecy import only_promised
from app.records.health.health import standing_of
from app.records.health.health_forms import forms_of, open_sheet, owner, questions_of, seal_sheet
from app.records.health.health_reads import (
    ANSWERS,
    REASONS,
    SLIP,
    guest_on,
    guided_by,
    kept_by,
    talked_with,
)
from app.records.setup.shop import the_shop
from app.records.store.problems import NotHere
from app.records.tables.health import HealthReadRow, TalkRow
from app.records.tables.parties import GuestRow
from app.rules.answering import slip_recorded
from app.rules.asking import Answer
from app.rules.health_access import (
    can_be_talked,
    may_look_in_emergency,
    may_see_reasons,
    may_talk,
    needs_speaker,
    speaker_will_do,
)
from app.rules.question_set import Part
from app.rules.screening_reasons import Level

GO, GO_WITH_LIMITS, ASHORE = "go", "go-with-limits", "ashore"
SPEAKER = "speaker"
LOOK_AGAIN = "The answers have changed since you looked. Look at the reasons again."


@dataclass(frozen=True)
class TalkWords:
    """How a talk ended. about: fingerprint of what it was about. depth_cap_m in metres.

    speaker: who spoke the guest's language where the words needed it; the other two: as stated.
    """

    about: str
    decision: str
    note: str
    depth_cap_m: float | None = None
    max_guests: int | None = None
    confined_only: bool = False
    speaker: str = ""
    speaker_adult: bool = False
    speaker_speaks: bool = False


def look_at_reasons(act: Act, guest_id: int, why: str) -> GuestRow:
    """Log a look at a guest's reasons; raises NotHere for somebody who may not see them."""
    guest, day = guest_on(act.session, guest_id)
    is_today = day == _today(act)
    own = guided_by(act.session, act.actor.person_id, guest_id, day)
    if not may_see_reasons(act.actor.roles, own_group=own, is_today=is_today):
        raise NotHere("not this person's guest")
    only_promised(act)
    log_look(act, guest, REASONS, why)
    return guest


def look_in_emergency(act: Act, guest_id: int, why: str) -> GuestRow:
    """Log an emergency look at a guest's answers and contacts; raises NotHere past the day after."""
    guest, day = guest_on(act.session, guest_id)
    if not may_look_in_emergency(act.actor.roles, (_today(act) - day).days):
        raise NotHere("no emergency look for this guest")
    log_look(act, guest, ANSWERS, why)
    return guest


def settle_talk(act: Act, guest_id: int, words: TalkWords) -> TalkRow:
    """Store how a talk with a guest ended, for today. Raises NotHere or Invalid."""
    guest, day = guest_on(act.session, guest_id)
    own = guided_by(act.session, act.actor.person_id, guest_id, day)
    if not may_talk(act.actor.roles, own_group=own, is_today=day == _today(act)):
        raise NotHere("not this person's talk")
    if kept_by(act.session, guest.ref, act.actor.person_id):
        raise Invalid({"decision": "You keep this guest's health record. Somebody else settles the talk."})
    stands = standing_of(act.session, act.house, guest, day)
    if not can_be_talked(stands.screened, act.actor.roles, stopped=stands.stopped):
        raise Invalid({"decision": "A talk does not change this. Open the page again to see what may."})
    if words.about != stands.about:
        raise Invalid({"about": LOOK_AGAIN})
    limited = words.depth_cap_m is not None or words.max_guests is not None or words.confined_only
    if limited is not (words.decision == GO_WITH_LIMITS):
        raise Invalid({"decision": "Choose Go with limits and set one, or leave the limits empty."})
    if words.decision != ASHORE and needs_speaker(stands.reasons):
        _check_speaker(words)
    return _talk(act, guest, day, words)


def _check_speaker(words: TalkWords) -> None:
    """Raise Invalid unless a named adult who speaks the guest's language was there."""
    if speaker_will_do(words.speaker, adult=words.speaker_adult, speaks=words.speaker_speaks):
        return
    wrong = {}
    if not words.speaker.strip():
        wrong["speaker"] = "Enter who spoke the guest's language: an interpreter or somebody of the team."
    if not words.speaker_adult:
        wrong["speaker_adult"] = "Only an adult can interpret, never a child. Tick this if it is so."
    if not words.speaker_speaks:
        wrong["speaker_speaks"] = "Without somebody who speaks the language the guest stays ashore."
    raise Invalid(wrong)


def stop_guest(act: Act, guest_id: int, note: str) -> TalkRow:
    """Keep a guest ashore today; everybody on the team may. Raises NotHere for a guest of another day."""
    guest, day = guest_on(act.session, guest_id)
    if day != _today(act):
        raise NotHere("not a guest of today")
    stands = standing_of(act.session, act.house, guest, day)
    return _talk(act, guest, day, TalkWords(stands.about, ASHORE, note))


def record_slip(act: Act, guest_id: int, code: str, why: str) -> None:
    """Store that a change from Yes to No was an honest slip: the answer is then No, with a talk.

    An answer of the day that keeps the guest ashore stands for the day. Raises NotHere or Invalid.
    """
    guest, day = guest_on(act.session, guest_id)
    only_keeper(act, guest)
    form = forms_of(act.session, [guest.ref], day, the_shop(act.session).zone).get(guest.ref)
    signed = None if form is None else form.signed
    questions = None if signed is None else questions_of(act.session, signed)
    sheet = None if signed is None else open_sheet(act.house, signed)
    if signed is None or questions is None or sheet is None or code not in questions.by_code:
        raise NotHere("no such answer")
    question = questions.by_code[code]
    if sheet.answers.get(code) is not Answer.YES_THEN_NO:
        raise Invalid({"code": "This answer was not changed from Yes to No."})
    if question.slip_stands or (question.part is Part.TODAY and question.yes is Level.ASHORE):
        raise Invalid({"code": "This answer stands for the day. Offer another day."})
    sealed = seal_sheet(act.house, guest.ref, slip_recorded(sheet, code))
    act.edit(signed, None, {"answers": sealed}, {})
    log_look(act, guest, SLIP, why)


def only_keeper(act: Act, guest: GuestRow) -> None:
    """Raise Invalid for whoever settled a talk with the guest: nobody is keeper and closer for one guest."""
    if talked_with(act.session, guest.ref, act.actor.person_id):
        raise Invalid({"form": "You settled a talk with this guest. Another keeper records this."})


def _talk(act: Act, guest: GuestRow, day: date, words: TalkWords) -> TalkRow:
    return act.add(
        TalkRow(
            guest_ref=guest.ref,
            day=day,
            decision=words.decision,
            note=words.note,
            depth_cap_m=words.depth_cap_m,
            max_guests=words.max_guests,
            confined_only=words.confined_only,
            about=words.about,
            speaker=act.house.ring.seal(owner(guest.ref), SPEAKER, words.speaker) if words.speaker else "",
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )


def log_look(act: Act, guest: GuestRow, kind: str, why: str) -> None:
    """Write one line of the log of looks; ``why`` is stored in the open and holds no health word."""
    act.about = ("guest", str(guest.id))
    act.add(
        HealthReadRow(
            guest_ref=guest.ref,
            person_id=act.actor.person_id or 0,
            who=act.actor.name,
            role=act.actor.role_words(),
            kind=kind,
            why=why,
            at=act.now,
        )
    )


def _today(act: Act) -> date:
    return the_shop(act.session).day_of(act.now)
