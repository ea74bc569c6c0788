"""One guest's data: where the record is, holds, what the guest asks for, and what the guest allows."""

from collections.abc import Callable

from fastapi import APIRouter
from fastapi.responses import Response

from app.actions.act import Act
from app.actions.health import privacy, retention
from app.records.health import health_reads, keeper
from app.records.health.health_rows import consents_of, newest
from app.records.health.retention import (
    STANDING,
    hold_steps,
    keeping_now,
    newest_stage,
    record_of,
    requests_of,
)
from app.records.store.problems import NotHere
from app.records.tables.privacy import HoldRow
from app.rules.choices import CHOICES
from app.rules.consents import HEALTH_DATA
from app.rules.retention import Stage, keep_until
from app.web.access import DESK, KEEPER, LEAD, MANAGER
from app.web.front import Desk, Front
from app.web.pages import ProblemView
from app.web.posted import PostedForm, button_only
from app.web.setup.shop import asks_again, confirm

router = APIRouter()
STAGES = {
    Stage.LIVE: "Live: in use for the dive day",
    Stage.SEALED: "Sealed: only the keeper opens it, with a reason",
    Stage.ERASED: "Erased: nobody can open it again",
}
WHY_OPEN = {
    "claim": "A claim or a letter from a lawyer",
    "asked": "The guest asked about it",
    "authority": "An authority or a doctor asked",
    "hold": "To look at a hold again",
}


@router.get("/guests/{guest_id}/data", name="guest_data")
def guest_data(front: Desk, guest_id: int) -> Response:
    """Show one guest's data page."""
    return page(front, guest_id)


@router.post("/guests/{guest_id}/data/hold", name="hold_record")
def hold_record(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Hold a guest's record."""
    return _hold(front, posted, guest_id, privacy.hold)


@router.post("/guests/{guest_id}/data/hold-again", name="keep_hold")
def keep_hold(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store that a hold is still needed."""
    return _hold(front, posted, guest_id, privacy.hold_again)


@router.post("/guests/{guest_id}/data/release", name="release_hold")
def release_hold(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Release a hold."""
    return _hold(front, posted, guest_id, privacy.release_hold)


@router.post("/guests/{guest_id}/data/no-hold", name="no_hold")
def no_hold(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store that no hold is needed after an incident."""
    return _hold(front, posted, guest_id, privacy.no_hold)


@router.post("/guests/{guest_id}/data/erase", name="ask_erasure")
def ask_erasure(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Answer a request for erasure, then show the letter."""

    def ask(act: Act) -> privacy.Answered:
        fields = posted.fields()
        who = fields.choice("asked_by", "who asks", privacy.ASKING)
        seen = fields.tick("papers_seen")
        confirm(front, act, fields)
        fields.done()
        return privacy.ask_erasure(act, guest_id, who, papers_seen=seen)

    answer = front.do(
        posted,
        ask,
        then=lambda _: f"/guests/{guest_id}/data/letter",
        again=lambda problem: page(front, guest_id, problem),
    )
    front.session.rollback()
    retention.finish(front.house)
    return answer


@router.get("/guests/{guest_id}/data/letter", name="erasure_letter")
def erasure_letter(front: Desk, guest_id: int) -> Response:
    """Show the answer to the newest request, for printing and handing over."""
    guest, day = health_reads.guest_on(front.session, guest_id)
    requests = requests_of(front.session, guest.ref)
    if not requests:
        raise NotHere("nothing was asked")
    newest_one = requests[0]
    return front.page(
        "privacy/letter.html",
        "Your request to erase your data",
        guest=guest,
        day=day,
        request=newest_one,
        asked_on=front.shop.day_of(newest_one.at),
        erased=newest_one.answer == "erased",
    )


@router.post("/guests/{guest_id}/data/withdraw", name="withdraw_consent")
def withdraw_consent(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store that the guest takes the consent to health answers back."""
    return front.do(
        posted,
        button_only(posted, lambda act: privacy.withdraw_consent(act, guest_id)),
        then=lambda _: f"/guests/{guest_id}/data",
        again=lambda problem: page(front, guest_id, problem),
    )


@router.post("/guests/{guest_id}/data/choices", name="tell_choices")
def tell_choices(front: Desk, posted: PostedForm, guest_id: int) -> Response:
    """Store what the guest allows beside the dive."""

    def tell(act: Act) -> None:
        fields = posted.fields()
        given = {kind: fields.tick(kind) for kind in CHOICES}
        fields.done()
        privacy.tell_choices(act, guest_id, given)

    return front.do(
        posted,
        tell,
        then=lambda _: f"/guests/{guest_id}/data",
        again=lambda problem: page(front, guest_id, problem),
    )


def page(front: Front, guest_id: int, problem: ProblemView | None = None) -> Response:
    """Render one guest's data page as this visitor may see it."""
    session = front.session
    guest, day = health_reads.guest_on(session, guest_id)
    record = record_of(session, guest_id, front.today)
    consents = consents_of(session, guest.ref)
    health = newest(consents, HEALTH_DATA.kind)
    steps = hold_steps(session, guest.ref)
    stub = newest_stage(session, guest.ref)
    allowed = {kind: (row := newest(consents, kind)) is not None and row.given for kind in CHOICES}
    keeps = front.visitor.has(KEEPER)
    return front.page(
        "privacy/guest.html",
        f"Data of {guest.call_name}",
        problem=problem,
        guest=guest,
        day=day,
        record=record,
        stage_words=STAGES[record.stage],
        stub=stub,
        until=keep_until(record.kept, keeping_now(session)),
        held=bool(steps) and steps[0].step in STANDING,
        steps=steps,
        suggested=keeper.suggested(session, guest) if not steps else [],
        requests=requests_of(session, guest.ref),
        consented=health is not None and health.given,
        choices=[(one, allowed[one.kind]) for one in CHOICES.values()],
        asking=list(privacy.ASKING.items()),
        why_open=list(WHY_OPEN.items()),
        minor=record.kept.is_minor(front.today),
        keeps=keeps,
        holds=front.visitor.has(KEEPER, MANAGER),
        desk=front.visitor.has(DESK, LEAD, KEEPER),
        asks_again=asks_again(front),
        day_of=front.shop.day_of,
    )


def _hold(
    front: Front, posted: PostedForm, guest_id: int, action: Callable[[Act, int, str], HoldRow]
) -> Response:
    def step(act: Act) -> None:
        fields = posted.fields()
        reason = fields.text("reason", "why, without a health word", most=200)
        fields.done()
        action(act, guest_id, reason)

    return front.do(
        posted,
        step,
        then=lambda _: f"/guests/{guest_id}/data",
        again=lambda problem: page(front, guest_id, problem),
    )
