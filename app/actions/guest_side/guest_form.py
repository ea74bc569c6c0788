"""What a guest does on the handed-over tablet: agree, answer, sign, or choose not to dive.

Nobody else may do any of this: every act belongs to the guest whom the tablet is locked to.
"""

import json
from dataclasses import dataclass, replace
from datetime import timedelta

from app.actions.act import Act, Invalid
from app.actions.guest_side import phone_links
from app.actions.guest_side.guest_words import IN_ENGLISH, Spoken, keep_words, say_consent, words_of
from app.records.guest_side.guest_form import GuestForm, guest_form, mark_of
from app.records.health.health_forms import DRAWING, SIGNATURE, open_sheet, owner, seal_sheet
from app.records.setup.shop import limits_now
from app.records.store.problems import NotHere
from app.records.tables.health import ConsentRow, HealthFormRow
from app.rules import consents
from app.rules.answering import answered, next_sheet
from app.rules.asking import Answer
from app.rules.consents import ConsentText
from app.rules.drawn_signature import read_strokes, write_strokes
from app.rules.limits import CONSENT_VALID_FOR
from app.rules.question_set import Part
from app.rules.sentences import Sentence
from app.rules.translations import TextStatus, worst


@dataclass(frozen=True)
class GuardianWords:
    """What a guardian says on the tablet. place: "by phone", "on site" or "poolside".

    drawing: a drawn signature as the page sends it, "" for none.
    """

    name: str
    relation: str
    phone: str
    place: str
    id_seen: bool
    may_collect: str
    urgent_care: bool
    drawing: str = ""


def own_form(act: Act) -> GuestForm:
    """Return the form of the guest who acts; raises NotHere for anybody else."""
    return guest_form(act.session, act.house, act.actor.guest_id, act.now)


def agree_to_health_data(act: Act, signed_name: str, spoken: Spoken = IN_ENGLISH) -> None:
    """Store the guest's consent to the use of health answers, and begin the form."""
    form = own_form(act)
    _consent(act, form.guest.ref, consents.HEALTH_DATA, spoken, given=True, signed_name=signed_name)
    begin(act)


def refuse_health_data(act: Act, spoken: Spoken = IN_ENGLISH) -> None:
    """Store that the guest does not agree; no answer is kept of what was begun."""
    form = own_form(act)
    _consent(act, form.guest.ref, consents.HEALTH_DATA, spoken, given=False)
    if form.draft is not None:
        act.edit(form.draft, None, {"answers": ""}, {})


def begin(act: Act) -> None:
    """Begin a form, or go on with the one begun today. Raises NotHere without consent."""
    form = own_form(act)
    if not form.consented:
        raise NotHere("no consent yet")
    if form.draft is None:
        _new_draft(act, form)


def history_again(act: Act) -> None:
    """Ask the history part again, because something changed since it was signed."""
    form = own_form(act)
    if form.draft is None:
        raise NotHere("nothing begun")
    if form.draft.history_signed_at is None:
        return
    kept = {Part.HISTORY: False, Part.TODAY: True}
    sheet = next_sheet(form.sheet, form.questions, kept, same_day=True)
    # Only the history starts again: the hours to flying stay as they are.
    sheet = replace(sheet, fly_hours=form.sheet.fly_hours, signed_hours=form.sheet.signed_hours)
    values = {"history_signed_at": None, "answers": seal_sheet(act.house, form.guest.ref, sheet)}
    act.edit(form.draft, None, values, {})


def answer(
    act: Act, number: int, mark: str, said: Answer, hours: float | None, spoken: Spoken = IN_ENGLISH
) -> None:
    """Store one answer. mark: which question stood on the page; another one there now stores nothing.

    The form remembers the worst words that a question was read in.

    Raises NotHere without a form, Invalid when the question is not asked (any more) or hours are missing.
    """
    form = own_form(act)
    if form.draft is None or not form.consented:
        raise NotHere("no form is open")
    asks = form.asks
    question = asks[number - 1] if 1 <= number <= len(asks) else None
    if question is None or mark_of(act.house, form, question) != mark:
        raise Invalid({"answer": Sentence("The questions have changed meanwhile. Answer this one.")})
    if question.hours_text and said is Answer.YES and hours is None:
        raise Invalid({"hours": Sentence("Enter how many hours after the dive, for example 20.")})
    sheet = answered(form.sheet, question.code, said, hours if question.hours_text else None)
    read_in = words_of(act, spoken).questions_status([question])
    values = {
        "answers": seal_sheet(act.house, form.guest.ref, sheet),
        "text_status": str(worst((form.draft.text_status, read_in))),
    }
    act.edit(form.draft, None, values, {})


def sign(act: Act, signed_name: str, drawing: str = "", spoken: Spoken = IN_ENGLISH) -> GuestForm:
    """Sign the answers and, on the day, agree to the dive; a drawn signature may stand beside the name.

    Raises Invalid while a question is open and for a drawing that no page of ours sends.
    """
    form = own_form(act)
    if form.draft is None or not form.consented:
        raise NotHere("no form is open")
    if form.next_number is not None:
        raise Invalid({"form": Sentence("There are questions without an answer. Go back and answer them.")})
    ref = form.guest.ref
    words = words_of(act, spoken)
    read_in = (form.draft.text_status, words.questions_status(form.asks), words.consent_status(consents.DIVE))
    values: dict[str, object] = {
        "language": words.code,
        "text_status": str(worst(read_in)),
        "words_digest": keep_words(act, words),
        "signature": act.house.ring.seal(owner(ref), SIGNATURE, signed_name),
        "drawing": _sealed_drawing(act, ref, drawing),
    }
    if Part.HISTORY in form.parts:
        values["history_signed_at"] = act.now
    if Part.TODAY in form.parts:
        values["today_signed_for"] = form.today
    act.edit(form.draft, None, values, {})
    if form.on_the_day:
        _consent(act, ref, consents.DIVE, spoken, given=True, signed_name=signed_name)
    return _end_links_when_done(act)


def sign_as_guardian(act: Act, words: GuardianWords, spoken: Spoken = IN_ENGLISH) -> None:
    """Store a guardian's consents for a minor: the dive, the answers, and urgent care apart from them."""
    form = own_form(act)
    if not form.minor:
        raise NotHere("no guardian is asked for")
    if words.relation == consents.PAPER and form.paper_id is None:
        raise NotHere("no parent's paper is on file")
    ref, ring = form.guest.ref, act.house.ring
    drawing = _sealed_drawing(act, ref, words.drawing)
    days = limits_now(act.session)[CONSENT_VALID_FOR].number or 0
    until = form.today + timedelta(days=int(days))
    told = {
        "name": words.name, "relation": words.relation, "phone": words.phone, "id_seen": words.id_seen,
        "may_collect": words.may_collect,
        "paper": form.paper_id if words.relation == consents.PAPER else None,
    }  # fmt: skip
    for kind, given in (
        ("guardian-health-data", True),
        ("urgent-care", words.urgent_care),
        ("guardian", True),
    ):
        whole = kind == "guardian"
        row = ConsentRow(
            guest_ref=ref,
            kind=kind,
            given=given,
            text_version=consents.GUARDIAN.version,
            signed_name=ring.seal(owner(ref), "signed_name", words.name),
            guardian=ring.seal(owner(ref), "guardian", json.dumps(told)) if whole else "",
            drawing=drawing if whole else "",
            guardian_place=words.place if whole else "",
            valid_until=until,
            at=act.now,
        )
        say_consent(act, row, consents.GUARDIAN, spoken)
    _end_links_when_done(act)


def rather_not_dive(act: Act, spoken: Spoken = IN_ENGLISH) -> None:
    """Store the guest's own wish not to dive today. It asks nothing and always wins."""
    form = own_form(act)
    _consent(act, form.guest.ref, consents.DIVE, spoken, given=False)


def _end_links_when_done(act: Act) -> GuestForm:
    """Return the form; a link to the guest's own phone is dead once nothing is left to sign."""
    form = own_form(act)
    if form.all_signed:
        phone_links.end_links(act, form.guest.id or 0, "signed")
    return form


def _sealed_drawing(act: Act, ref: str, drawing: str) -> str:
    strokes = read_strokes(drawing)
    if strokes is None:
        raise Invalid({"drawing": Sentence("The drawing could not be read. Clear it, or draw it again.")})
    return act.house.ring.seal(owner(ref), DRAWING, write_strokes(strokes)) if strokes else ""


def _new_draft(act: Act, form: GuestForm) -> HealthFormRow:
    signed = form.forms.signed
    before = None if signed is None else open_sheet(act.house, signed)
    same_day = signed is not None and signed.today_signed_for == form.today
    sheet = next_sheet(before, form.questions, form.kept, same_day=same_day)
    draft = HealthFormRow(
        guest_ref=form.guest.ref,
        question_version=form.questions.version,
        # What was answered before and still counts was read in these words.
        text_status=signed.text_status if signed is not None else str(TextStatus.ORIGINAL),
        answers=seal_sheet(act.house, form.guest.ref, sheet),
        history_signed_at=signed.history_signed_at if signed is not None and form.history_counts else None,
        started_at=act.now,
    )
    return act.add(draft)


def _consent(
    act: Act, ref: str, text: ConsentText, spoken: Spoken, *, given: bool, signed_name: str = ""
) -> None:
    row = ConsentRow(
        guest_ref=ref,
        kind=text.kind,
        given=given,
        text_version=text.version,
        signed_name=act.house.ring.seal(owner(ref), "signed_name", signed_name) if signed_name else "",
        at=act.now,
    )
    say_consent(act, row, text, spoken)
