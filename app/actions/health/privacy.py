"""What the team does about one guest's data: holds, requests for erasure, consents taken back, choices."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import col, select

from app.actions.act import Act, Invalid
from app.actions.health.health import log_look
from app.actions.health.retention import ASKED, move_on
from app.actions.health.secrecy import only_promised
from app.records.health.health_reads import guest_on
from app.records.health.retention import (
    HELD,
    LOOKED_AGAIN,
    NOT_NEEDED,
    RELEASED,
    STANDING,
    Record,
    hold_steps,
    keeping_now,
    record_of,
)
from app.records.setup.shop import limits_now, the_shop
from app.records.store.problems import NotHere
from app.records.tables.health import ConsentRow, HealthFormRow
from app.records.tables.parties import GuestRow
from app.records.tables.privacy import ErasureRequestRow, HoldRow
from app.records.welcome.bookings import BOOKED
from app.rules.choices import CHOICES
from app.rules.consents import HEALTH_DATA
from app.rules.limits import HOLD_CHECK_EVERY
from app.rules.retention import Stage, keep_until, months_after

# Kinds of looks that are the keeper's.
SEALED_RECORD, EXPORT = "sealed record", "export"
ASKING = {"guest": "The guest", "guardian": "The parent or guardian"}
CLAIM = "A claim about the dive may be made until then, and the record shows what was asked and answered."
ON_HOLD = "A legal hold stands. It is looked at again every year, and the record is erased once it ends."


@dataclass(frozen=True)
class Answered:
    """What a request for erasure led to. erased: True when nothing is kept; until: last day it is kept."""

    erased: bool
    until: date | None


def hold(act: Act, guest_id: int, reason: str) -> HoldRow:
    """Hold a guest's record: it is not erased until somebody releases it. Raises NotHere or Invalid."""
    return _step(act, guest_id, HELD, reason)


def hold_again(act: Act, guest_id: int, reason: str) -> HoldRow:
    """Store that a hold was looked at again and is still needed."""
    return _step(act, guest_id, LOOKED_AGAIN, reason)


def release_hold(act: Act, guest_id: int, reason: str) -> HoldRow:
    """End a hold; the record moves on at the next run."""
    return _step(act, guest_id, RELEASED, reason)


def no_hold(act: Act, guest_id: int, reason: str) -> HoldRow:
    """Store that no hold is needed although the guest is part of an incident."""
    return _step(act, guest_id, NOT_NEEDED, reason)


def ask_erasure(act: Act, guest_id: int, asked_by: str, *, papers_seen: bool) -> Answered:
    """Answer a request for erasure: erased at once without a dive, sealed at once after one.

    The keys are destroyed after the commit (``retention.finish``). Raises NotHere or Invalid.
    """
    guest, one = _live_guest(act, guest_id)
    if not papers_seen:
        raise Invalid({"papers_seen": "Look at a paper with a photo first, then tick this."})
    if guest.state == BOOKED and not one.kept.dived and one.kept.day >= _today(act):
        raise Invalid({"asked_by": "The guest is still booked. Take the guest out of the party first."})
    goes = not one.kept.dived and not one.kept.held
    until = keep_until(one.kept, keeping_now(act.session))
    act.add(
        ErasureRequestRow(
            guest_ref=guest.ref,
            asked_by=asked_by,
            answer="erased" if goes else "sealed",
            reason="" if goes else ON_HOLD if one.kept.held else CLAIM,
            until=None if goes or one.kept.held else until,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )
    move_on(act, [guest_id], ASKED)
    return Answered(goes, until)


def withdraw_consent(act: Act, guest_id: int) -> None:
    """Store that a guest takes the consent to health answers back: nothing is answered any more.

    Without a dive the answers are emptied at once; after one they are kept under another reason, sealed.
    """
    guest, one = _live_guest(act, guest_id)
    act.about = ("guest", str(guest_id))
    act.add(
        ConsentRow(
            guest_ref=guest.ref,
            kind=HEALTH_DATA.kind,
            given=False,
            text_version=HEALTH_DATA.version,
            recorded_by=act.actor.name,
            at=act.now,
        )
    )
    if not one.kept.dived and not one.kept.held:
        for form in act.session.exec(select(HealthFormRow).where(HealthFormRow.guest_ref == guest.ref)):
            act.edit(form, None, dict.fromkeys(HealthFormRow.secret, ""), {})


def tell_choices(act: Act, guest_id: int, given: dict[str, bool]) -> None:
    """Store what a guest allows beside the dive; only what differs from the last word is written."""
    guest, _ = _live_guest(act, guest_id)
    act.about = ("guest", str(guest_id))
    for kind, allowed in given.items():
        asked = select(ConsentRow).where(ConsentRow.guest_ref == guest.ref, ConsentRow.kind == kind)
        last = act.session.exec(asked.order_by(col(ConsentRow.id).desc())).first()
        if allowed != (last is not None and last.given):
            act.add(
                ConsentRow(
                    guest_ref=guest.ref,
                    kind=kind,
                    given=allowed,
                    text_version=CHOICES[kind].version,
                    recorded_by=act.actor.name,
                    at=act.now,
                )
            )


def open_sealed(act: Act, guest_id: int, why: str) -> GuestRow:
    """Log that the keeper opens a sealed record. Raises NotHere for one that is live or erased."""
    guest, one = _live_guest(act, guest_id)
    if one.stage is not Stage.SEALED:
        raise NotHere("this record is not sealed")
    only_promised(act)
    log_look(act, guest, SEALED_RECORD, why)
    return guest


def export(act: Act, guest_id: int, asked_by: str, *, papers_seen: bool, right_seen: bool) -> GuestRow:
    """Log that everything about a guest is handed out. Raises NotHere or Invalid."""
    guest, one = _live_guest(act, guest_id)
    errors = {}
    if not papers_seen:
        errors["papers_seen"] = "Look at a paper with a photo first, then tick this."
    minor = one.kept.is_minor(_today(act))
    if asked_by == "guardian" and not (minor and right_seen):
        errors["asked_by"] = (
            "Tick that you saw who holds parental rights."
            if minor
            else "The guest is grown up and asks in person."
        )
    if errors:
        raise Invalid(errors)
    only_promised(act)
    log_look(act, guest, EXPORT, f"{ASKING[asked_by]} asked for everything")
    return guest


def _step(act: Act, guest_id: int, step: str, reason: str) -> HoldRow:
    guest, _ = _live_guest(act, guest_id)
    steps = hold_steps(act.session, guest.ref)
    stands = bool(steps) and steps[0].step in STANDING
    if stands is not (step in (LOOKED_AGAIN, RELEASED)):
        raise Invalid({"reason": "Somebody changed this hold meanwhile. Open the page again."})
    months = int(limits_now(act.session)[HOLD_CHECK_EVERY].number or 0)
    act.about, act.reason = ("guest", str(guest_id)), reason
    return act.add(
        HoldRow(
            guest_ref=guest.ref,
            step=step,
            reason=reason,
            check_by=months_after(_today(act), months) if step in STANDING else None,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )


def _live_guest(act: Act, guest_id: int) -> tuple[GuestRow, Record]:
    guest, _ = guest_on(act.session, guest_id)
    one = record_of(act.session, guest_id, _today(act))
    if one.kept.erased:
        raise NotHere("erased")
    return guest, one


def _today(act: Act) -> date:
    return the_shop(act.session).day_of(act.now)
