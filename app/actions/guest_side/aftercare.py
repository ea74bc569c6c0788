"""After the dive: asking each guest on coming out, looking after a yes, and giving the aftercare card.

Nothing here refuses that anybody comes out. What was answered is sealed with the guest's own key.
"""

from collections.abc import Mapping
from datetime import timedelta

from app.actions.act import Act, Invalid
from app.actions.water_side.dive_incidents import Found, write_found
from app.records.groups.groups import GroupView, group_view
from app.records.guest_side.aftercare import (
    ANSWERS,
    DONE,
    GuestAfter,
    check_of,
    group_after,
    guest_after,
    seal,
)
from app.records.guest_side.aftercare_card import card_numbers, card_status, words_of_card
from app.records.health.health_reads import guided_by
from app.records.setup.shop import limits_now, the_shop
from app.records.store.problems import NotHere
from app.records.tables.aftercare import AftercareCardRow, ExitCareRow, ExitCheckRow
from app.records.tables.health import HealthReadRow
from app.rules import aftercare
from app.rules.aftercare_card import VERSION
from app.rules.health_access import may_see_reasons
from app.rules.limits import AFTERCARE_CARD_KEPT

EXIT_CHECK = "exit check"


def write_exit_check(act: Act, group_id: int, guest_id: int, answers: Mapping[str, str]) -> ExitCheckRow:
    """Store what a guest said on coming out; a yes becomes an incident at once.

    A yes is stored even when other questions were not asked. Raises Invalid for a question that was not
    asked where nothing was answered with yes, and NotHere for a guest who did not go in.
    """
    view = group_view(act.session, group_id)
    one = guest_after(act.session, act.house, view, guest_id, act.now)
    if not aftercare.needs_somebody(answers):
        wrong = {question.code: f"Ask: {question.words}" for question in aftercare.open_questions(answers)}
        if wrong:
            raise Invalid(wrong)
    row = act.add(
        ExitCheckRow(
            guest_id=guest_id,
            group_id=group_id,
            answers=seal(act.house, one.guest, ANSWERS, answers),
            at=act.now,
            by_id=act.actor.person_id,
            by=act.actor.name,
        )
    )
    draft = aftercare.incident_of(answers)
    if draft is not None:
        write_found(act, view, [Found(draft, one.member.row.id)])
    act.about = ("exit_check", str(row.id))
    return row


def write_exit_care(act: Act, check_id: int, done: str) -> ExitCareRow:
    """Store what was done about a yes; raises NotHere for a check that asks for nobody."""
    check = check_of(act.session, act.house, check_id)
    if check.yes is False:
        raise NotHere("nobody is needed there")
    act.about = ("exit_check", str(check_id))
    return act.add(
        ExitCareRow(
            check_id=check_id,
            done=seal(act.house, check.guest, DONE, {"done": done}),
            at=act.now,
            by_id=act.actor.person_id,
            by=act.actor.name,
        )
    )


def look_at_exit_check(act: Act, check_id: int, why: str) -> None:
    """Log a look at what a guest answered on coming out; raises NotHere for somebody who may not see it."""
    check = check_of(act.session, act.house, check_id)
    day = group_view(act.session, check.row.group_id).slot.day
    own = guided_by(act.session, act.actor.person_id, check.row.guest_id, day)
    is_today = day == the_shop(act.session).day_of(act.now)
    if not may_see_reasons(act.actor.roles, own_group=own, is_today=is_today):
        raise NotHere("not this person's guest")
    act.about = ("guest", str(check.row.guest_id))
    act.add(
        HealthReadRow(
            guest_ref=check.guest.ref,
            person_id=act.actor.person_id or 0,
            who=act.actor.name,
            role=act.actor.role_words(),
            kind=EXIT_CHECK,
            why=why,
            at=act.now,
        )
    )


def give_card(act: Act, group_id: int, guest_id: int, language: str) -> AftercareCardRow:
    """Write down that a card was given in a language, with the times and numbers printed on it.

    Raises Refused while a number is missing, Invalid while times are not known, NotHere.
    """
    view = group_view(act.session, group_id)
    one = guest_after(act.session, act.house, view, guest_id, act.now)
    return _give(act, view, one, language)


def give_all_cards(act: Act, group_id: int) -> list[AftercareCardRow]:
    """Give a card to each guest of a group who has none with the times of now, in the guest's first language.

    Raises Refused while a number is missing, Invalid when nobody waits for one.
    """
    view = group_view(act.session, group_id)
    waiting = [
        one
        for one in group_after(act.session, act.house, view, act.now)
        if one.ready_for_card and (one.card is None or one.card_is_old)
    ]
    if not waiting:
        raise Invalid({"form": "Everybody who is back has a card, or nobody is back yet."})
    rows = [_give(act, view, one, "") for one in waiting]
    act.about = ("dive_group", str(group_id))
    return rows


def _give(act: Act, view: GroupView, one: GuestAfter, language: str) -> AftercareCardRow:
    shop = the_shop(act.session)
    act.allow(aftercare.may_give_card(card_numbers(shop)))
    times = None if one.after is None else one.after.times
    kept = limits_now(act.session)[AFTERCARE_CARD_KEPT].number
    if one.after is None or times is None or kept is None:
        raise Invalid({"form": f"{one.guest.call_name} is not back yet, or a limit has no value."})
    words = words_of_card(act.session, language or one.guest.languages)
    row = act.add(
        AftercareCardRow(
            guest_id=one.guest.id or 0,
            group_id=view.id,
            language=words.code,
            text_status=card_status(words),
            text_version=VERSION,
            surfaced_at=one.after.surfaced_at,
            greatest_depth_m=view.group.greatest_depth_m,
            dives=one.after.dives,
            fly_allowed_from=times.allowed_from,
            fly_advised_from=times.advised_from,
            keep_until=one.after.surfaced_at + timedelta(hours=kept),
            phone_ambulance=shop.phone_ambulance,
            phone_shop=shop.phone_shop,
            phone_dive_doctor=shop.phone_dive_doctor,
            at=act.now,
            by_id=act.actor.person_id,
            by=act.actor.name,
        )
    )
    act.about = ("guest", str(one.guest.id))
    return row
