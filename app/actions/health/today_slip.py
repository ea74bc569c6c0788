"""Undoing a slip of the finger in today's part: lead and keeper, two people, before the guest was told.

The answer is then No and leaves a talk. Alcohol and drugs, and the guest's own wish, are never undone.
"""

from app.actions.act import Act, Invalid
from app.actions.health.health import log_look, only_keeper
from app.records.health.health_day import slip_begun, told_since
from app.records.health.health_forms import forms_of, open_sheet, owner, questions_of, seal_sheet
from app.records.health.health_reads import LEAD_SLIP, SLIP, guest_on
from app.records.setup.shop import the_shop
from app.records.store.problems import NotHere
from app.records.tables.health_day import TodaySlipRow
from app.rules.answering import slip_undone
from app.rules.asking import affirmed, answer_to
from app.rules.health_access import may_undo_today

CODE = "slip"
# Every code fills the same room.
ROOM = 16
BOTH = frozenset({"lead", "keeper"})


def undo_today_slip(act: Act, guest_id: int, code: str, why: str, role: str) -> bool:
    """Say, as lead or as keeper, that an answer of today was a slip; with the second word it is undone.

    Returns whether it is undone now. Raises NotHere or Invalid.
    """
    guest, day = guest_on(act.session, guest_id)
    shop = the_shop(act.session)
    if role not in BOTH & act.actor.roles or day != shop.day_of(act.now):
        raise NotHere("not this person's word")
    if role == "keeper":
        only_keeper(act, guest)
    form = forms_of(act.session, [guest.ref], day, shop.zone).get(guest.ref)
    signed = None if form is None else form.signed
    questions = None if signed is None else questions_of(act.session, signed)
    sheet = None if signed is None else open_sheet(act.house, signed)
    if signed is None or questions is None or sheet is None or code not in questions.by_code:
        raise NotHere("no such answer")
    question = questions.by_code[code]
    if not may_undo_today(question):
        raise Invalid({"today_code": "This answer stands for the day. Offer another day."})
    if not affirmed(answer_to(question, sheet.answers)):
        raise Invalid({"today_code": "This answer does not keep the guest ashore."})
    if told_since(act.session, guest.ref, day, signed.started_at):
        raise Invalid({"today_code": "The guest was told the result. It stands for the day."})
    first = slip_begun(act.session, act.house, signed, code)
    if first is not None and (first.role == role or first.by_id == act.actor.person_id):
        raise Invalid({"today_code": f"{first.by} said so as {first.role}. It takes the other of the two."})
    act.add(
        TodaySlipRow(
            guest_ref=guest.ref,
            form_id=signed.id or 0,
            code=act.house.ring.seal(owner(guest.ref), CODE, code.ljust(ROOM)),
            role=role,
            why=why,
            after_id=None if first is None else first.id,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )
    log_look(act, guest, SLIP if role == "keeper" else LEAD_SLIP, why)
    if first is None:
        return False
    sealed = seal_sheet(act.house, guest.ref, slip_undone(sheet, code))
    act.edit(signed, None, {"answers": sealed}, {})
    return True
