"""Before the water: the briefing, the kit check, the shallow skills. Each answer stays; the newest counts."""

from app.actions.act import Act
from app.records.groups.facts import guest_key, member_key
from app.records.groups.groups import GroupView, group_view
from app.records.setup.shop import the_shop
from app.records.store.problems import NotHere
from app.records.tables.water import BriefingRow, SkillRow
from app.records.water_side.entry import answers_of, marks_of
from app.rules import briefing
from app.rules.dive_record import may_prepare
from app.rules.sign_off import SKILLS, Mark, standing

ITEMS = {item.key: item for item in briefing.BRIEFING}
KIT_ITEMS = {item.key: item for item in briefing.KIT_CHECK}


def answer_briefing(act: Act, group_id: int, answers: dict[str, str], language: str = "") -> None:
    """Write answers to items of the briefing: item -> state, or figure in the unit of the item's limit.

    language: in which it was said, by code; "" where nobody noted it. Raises NotHere for an item that is not
    on the list, Refused once the group went in.
    """
    if not set(answers) <= set(ITEMS):
        raise NotHere("briefing item")
    _answer(act, group_id, {("", item): said for item, said in answers.items()}, language)


def check_kit(act: Act, group_id: int, answers: dict[tuple[int, str], str]) -> None:
    """Write answers of the kit check: (member number, item) -> state. Raises NotHere, Refused."""
    members = {one.row.id: one.row for one in group_view(act.session, group_id).members}
    for member_id, item in answers:
        if item not in KIT_ITEMS or member_id not in members:
            raise NotHere(f"kit item of member {member_id}")
    _answer(
        act, group_id, {(member_key(members[number]), item): said for (number, item), said in answers.items()}
    )


def sign_skills(act: Act, group_id: int, marks: dict[tuple[int, str], Mark]) -> None:
    """Write what the instructor saw: (guest number, skill) -> mark. Later marks count, earlier ones stay."""
    view = group_view(act.session, group_id)
    guests = {one.guest.id for one in view.guests if one.guest is not None}
    seen = marks_today(act, view)
    for (guest_id, skill), mark in marks.items():
        if guest_id not in guests or skill not in SKILLS:
            raise NotHere(f"skill of {guest_key(guest_id)}")
        if seen[guest_id].get(skill) is mark:
            continue
        act.add(
            SkillRow(
                guest_id=guest_id,
                group_id=group_id,
                skill=skill,
                outcome=mark.value,
                by_id=act.actor.person_id or 0,
                by=act.actor.name,
                at=act.now,
            )
        )
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


def marks_today(act: Act, view: GroupView) -> dict[int, dict[str, Mark]]:
    """Return the marks that count today, guest number -> skill -> mark."""
    shop = the_shop(act.session)
    guests = [one.guest.id or 0 for one in view.guests if one.guest is not None]
    marks = marks_of(act.session, guests, shop.zone)
    return {guest: standing(guest_key(guest), marks, shop.day_of(act.now)) for guest in guests}


def _answer(act: Act, group_id: int, answers: dict[tuple[str, str], str], language: str = "") -> None:
    """Write answers: (whom it is about, item) -> what was said. One that stands is not written again."""
    shop, view = the_shop(act.session), group_view(act.session, group_id)
    act.allow(may_prepare(view.group.entered_at is not None))
    today = shop.day_of(act.now)
    stands = {(one.about, one.item): one for one in answers_of(act.session, group_id, shop.zone)}
    for (about, item), said in answers.items():
        before = stands.get((about, item))
        if before is not None and before.on == today and _same(before.value, said):
            continue
        act.add(
            BriefingRow(
                group_id=group_id,
                item=item,
                answer=said,
                about=about,
                language=language,
                by_id=act.actor.person_id or 0,
                by=act.actor.name,
                at=act.now,
            )
        )
    act.about = ("dive_group", str(group_id))


def _same(before: str | float | None, said: str) -> bool:
    return said == (f"{before:g}" if isinstance(before, int | float) else before)
