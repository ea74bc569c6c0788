"""Before the water: the briefing, the kit check, the shallow skills. Each answer stays; the newest counts."""

from collections.abc import Collection

from app.actions.act import Act, Invalid
from app.records.groups.facts import guest_key, member_key
from app.records.groups.groups import GroupView, group_view
from app.records.setup.shop import closed_day, the_shop
from app.records.store.problems import NotHere
from app.records.tables.groups import MemberRow
from app.records.tables.water import BriefingRow, SkillRow
from app.records.water_side.entry import answers_of, marks_of
from app.records.water_side.second_eyes import OTHER, briefing_rows, people_near, said_in, skill_rows
from app.rules import briefing
from app.rules.dive_record import may_prepare, may_put_right
from app.rules.sign_off import SKILLS, Mark, standing

ITEMS = {item.key: item for item in briefing.BRIEFING}
KIT_ITEMS = {item.key: item for item in briefing.KIT_CHECK}


def answer_briefing(
    act: Act, group_id: int, answers: dict[str, str], language: str = "", interpreter: str = ""
) -> None:
    """Write answers to items of the briefing: item -> state, or figure in the unit of the item's limit.

    language: in which it was said, by code; interpreter: key of who put it into that language; "" where
    nobody noted it. Both are kept whether or not an answer changes. Raises NotHere for an item that is not
    on the list or somebody who is not near, Refused once the group went in.
    """
    view = group_view(act.session, group_id)
    if not set(answers) <= set(ITEMS) or interpreter not in {"", OTHER, *people_near(act.session, view)}:
        raise NotHere("briefing item")
    _answer(act, view, {("", item): said for item, said in answers.items()}, language, interpreter)
    before = said_in(act.session, group_id)
    stands = ("", "") if before is None else (before.language, before.interpreter)
    if (language, interpreter) != stands:
        _add(act, group_id, "", briefing.SAID_IN, language or "not noted", language, interpreter)


def check_kit(act: Act, group_id: int, answers: dict[tuple[int, str], str], second: str = "") -> None:
    """Write answers of the kit check: (member number, item) -> state. Raises NotHere, Refused, Invalid.

    second: key of who looked at these people's kit as second, "" while nobody did.
    """
    view = group_view(act.session, group_id)
    members = {one.row.id: one.row for one in view.members}
    for member_id, item in answers:
        if item not in KIT_ITEMS or member_id not in members:
            raise NotHere(f"kit item of member {member_id}")
    _answer(
        act, view, {(member_key(members[number]), item): said for (number, item), said in answers.items()}
    )
    if second:
        look_second(act, group_id, {number for number, _ in answers}, second)


def look_second(act: Act, group_id: int, member_ids: Collection[int], second: str) -> None:
    """Write who looked at the kit of members as the second pair of eyes.

    second: that person's key. Raises NotHere for a member of another group, Invalid for somebody who wears
    the kit or checked it first, Refused once the group went in.
    """
    shop, view = the_shop(act.session), group_view(act.session, group_id)
    act.allow(may_prepare(view.group.entered_at is not None))
    members = {one.row.id: one for one in view.members}
    if not set(member_ids) <= set(members):
        raise NotHere("member")
    near, today = people_near(act.session, view), shop.day_of(act.now)
    told = answers_of(act.session, group_id, shop.zone)
    for member_id in member_ids:
        wearer, name = member_key(members[member_id].row), members[member_id].name
        checks = briefing.standing_checks(told, today, wearer)
        if second not in near or not briefing.may_look_second(second, wearer, checks.values()):
            said = f"{near.get(second, 'This person')} wears the kit of {name} or checked it first."
            raise Invalid({"second": f"{said} Choose somebody else."})
        stands = briefing.second_look(told, today, wearer)
        if stands is None or stands.value != second:
            _add(act, group_id, wearer, briefing.SECOND_EYES, second)
    act.about = ("dive_group", str(group_id))


def look_second_at_all(act: Act, group_id: int, second: str) -> None:
    """Write who looked as second at every kit that is checked and was seen by one person only.

    Whoever wears a kit or checked it first is left out there. Raises Invalid when nothing is left to see.
    """
    shop, view = the_shop(act.session), group_view(act.session, group_id)
    told, today = answers_of(act.session, group_id, shop.zone), shop.day_of(act.now)
    waiting = []
    for one in view.members:
        wearer = member_key(one.row)
        checks = briefing.standing_checks(told, today, wearer)
        seen = briefing.second_look(told, today, wearer) is not None
        whole = set(checks) == set(KIT_ITEMS)
        if whole and not seen and briefing.may_look_second(second, wearer, checks.values()):
            waiting.append(one.row.id or 0)
    if not waiting:
        said = "No checked kit waits for this person. Choose somebody who neither wears it nor checked it."
        raise Invalid({"second": said})
    look_second(act, group_id, waiting, second)


def take_back_answers(act: Act, group_id: int, member_id: int | None, why: str) -> None:
    """Take back what was last sent of the briefing, or of one member's kit check: the answers before count.

    What was sent stays to be read, with who took it back and why. Nothing to take back changes nothing.
    Raises NotHere, Refused once the group went in.
    """
    view = group_view(act.session, group_id)
    act.allow(may_prepare(view.group.entered_at is not None))
    about = "" if member_id is None else member_key(_member(view, member_id))
    rows = [one for one in briefing_rows(act.session, group_id) if one.about == about]
    act.about, act.reason = ("dive_group", str(group_id)), why
    if not rows or rows[-1].correction:
        return
    sent = [one for one in rows if (one.at, one.by_id) == (rows[-1].at, rows[-1].by_id)]
    earlier = {one.item: one for one in rows if one.id not in {row.id for row in sent}}
    for item in dict.fromkeys(one.item for one in sent):
        before = earlier.get(item)
        _add(
            act,
            group_id,
            about,
            item,
            "" if before is None else before.answer,
            "" if before is None else before.language,
            "" if before is None else before.interpreter,
            why,
        )


def sign_skills(act: Act, group_id: int, marks: dict[tuple[int, str], Mark]) -> None:
    """Write what the instructor saw: (guest number, skill) -> mark. Later marks count, earlier ones stay.

    A skill that stands as shown is not written again; another try that still needs work is. Raises NotHere,
    Refused once the day is signed off.
    """
    view = group_view(act.session, group_id)
    act.allow(may_put_right(closed_day(act.session, view.slot.day) is not None))
    guests = {one.guest.id for one in view.guests if one.guest is not None}
    seen = marks_today(act, view)
    for (guest_id, skill), mark in marks.items():
        if guest_id not in guests or skill not in SKILLS:
            raise NotHere(f"skill of {guest_key(guest_id)}")
        if mark is Mark.SHOWN and seen[guest_id].get(skill) is mark:
            continue
        _mark(act, group_id, guest_id, skill, mark.value)
    act.about = ("dive_group", str(group_id))


def sign_skills_for_all(act: Act, group_id: int, skills: tuple[str, ...]) -> None:
    """Mark skills as shown for every guest, except where today's mark says something else already."""
    view = group_view(act.session, group_id)
    marks = {
        (guest_id, skill): Mark.SHOWN
        for guest_id, seen in marks_today(act, view).items()
        for skill in skills
        if skill not in seen
    }
    sign_skills(act, group_id, marks)


def take_back_marks(act: Act, group_id: int, guest_id: int, why: str) -> None:
    """Take back what was last signed for one guest: the marks before count, what was signed stays to be read.

    Raises NotHere, Refused once the day is signed off.
    """
    view = group_view(act.session, group_id)
    act.allow(may_put_right(closed_day(act.session, view.slot.day) is not None))
    if guest_id not in {one.guest.id for one in view.guests if one.guest is not None}:
        raise NotHere(f"skill of {guest_key(guest_id)}")
    rows = skill_rows(act.session, guest_id, view.id)
    act.about, act.reason = ("dive_group", str(group_id)), why
    if not rows or rows[-1].correction:
        return
    sent = [one for one in rows if (one.at, one.by_id) == (rows[-1].at, rows[-1].by_id)]
    earlier = {one.skill: one.outcome for one in rows if one.id not in {row.id for row in sent}}
    for skill in dict.fromkeys(one.skill for one in sent):
        _mark(act, group_id, guest_id, skill, earlier.get(skill, ""), why)


def marks_today(act: Act, view: GroupView) -> dict[int, dict[str, Mark]]:
    """Return the marks that count today, guest number -> skill -> mark."""
    shop = the_shop(act.session)
    guests = [one.guest.id or 0 for one in view.guests if one.guest is not None]
    marks = marks_of(act.session, guests, shop.zone)
    return {guest: standing(guest_key(guest), marks, shop.day_of(act.now)) for guest in guests}


def _member(view: GroupView, member_id: int) -> MemberRow:
    for one in view.members:
        if one.row.id == member_id:
            return one.row
    raise NotHere(f"member {member_id}")


def _answer(
    act: Act,
    view: GroupView,
    answers: dict[tuple[str, str], str],
    language: str = "",
    interpreter: str = "",
) -> None:
    """Write answers: (whom it is about, item) -> what was said. One that stands is not written again."""
    shop = the_shop(act.session)
    act.allow(may_prepare(view.group.entered_at is not None))
    today = shop.day_of(act.now)
    stands = {(one.about, one.item): one for one in answers_of(act.session, view.id, shop.zone)}
    for (about, item), said in answers.items():
        before = stands.get((about, item))
        if before is not None and before.on == today and _same(before.value, said):
            continue
        _add(act, view.id, about, item, said, language, interpreter)
    act.about = ("dive_group", str(view.id))


def _add(
    act: Act,
    group_id: int,
    about: str,
    item: str,
    said: str,
    language: str = "",
    interpreter: str = "",
    correction: str = "",
) -> None:
    act.add(
        BriefingRow(
            group_id=group_id,
            item=item,
            answer=said,
            about=about,
            language=language,
            interpreter=interpreter,
            correction=correction,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )


def _mark(act: Act, group_id: int, guest_id: int, skill: str, outcome: str, correction: str = "") -> None:
    act.add(
        SkillRow(
            guest_id=guest_id,
            group_id=group_id,
            skill=skill,
            outcome=outcome,
            correction=correction,
            by_id=act.actor.person_id or 0,
            by=act.actor.name,
            at=act.now,
        )
    )


def _same(before: str | float | None, said: str) -> bool:
    return said == (f"{before:g}" if isinstance(before, int | float) else before)
